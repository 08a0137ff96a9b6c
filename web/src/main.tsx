import { render } from "preact";
import { App } from "./App";
import { listen } from "./state/store";
import "./style/base.css";
import "./style/bench.css";
import "./style/rooms.css";

listen();
render(<App />, document.getElementById("page")!);
