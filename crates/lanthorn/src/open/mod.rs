//! `lanthorn open`: the workbench. A page on this machine shows the prop and what is known of it, and changes the project.
//!
//! `server` listens, `guard` says who is answered, `routes` what is asked for by which path. `bench` is what requests share: the
//! `session` with the project's text, and what the `builder` has come to, stage by stage. `scene`, `mesh`, `light`, `tracks`,
//! `findings` and `summary` show that. `steps` keeps what was ticked and measured at the bench.

mod bench;
mod builder;
mod cut;
mod edit;
mod fault;
mod fields;
mod findings;
mod guard;
mod light;
mod mesh;
mod mirror;
mod page;
#[cfg(test)]
mod page_types;
mod pairing;
mod pairing_page;
mod rehearsal;
mod routes;
mod scene;
mod server;
mod session;
mod stage;
mod start;
mod steps;
mod summary;
mod tracks;
mod trouble;
mod upload;
mod why;

use anyhow::{Context, Result, anyhow};
use bench::Workbench;
use session::Session;
use std::io::Write as _;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::process::{Command, ExitCode, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::net::TcpListener;

/// How often files are looked at for changes from outside.
const WATCH: Duration = Duration::from_millis(250);

/// What to open, and for whom.
#[derive(clap::Args)]
pub(crate) struct Wishes {
    /// The project file; without one, a new project is begun on the page.
    project: Option<PathBuf>,
    /// Port to listen on; 0 takes any that is free.
    #[arg(long, default_value_t = 7373)]
    port: u16,
    /// Don't open a browser.
    #[arg(long)]
    no_browser: bool,
    /// Listen to other devices of this network too, such as a phone at the bench, once they are paired.
    #[arg(long)]
    lan: bool,
    /// Folder in which a new project is begun.
    #[arg(long, default_value = ".", value_name = "DIR", conflicts_with = "project")]
    folder: PathBuf,
}

/// Serves until it is stopped.
pub(crate) fn run(wishes: &Wishes) -> Result<ExitCode> {
    let session = wishes.project.as_deref().map(Session::open).transpose()?;
    let folder =
        std::fs::canonicalize(&wishes.folder).with_context(|| format!("{} is not there", wishes.folder.display()))?;
    let bench = Arc::new(Workbench::new(folder, session, wishes.lan));
    ctrlc::set_handler(|| std::process::exit(0)).context("the program could not be told how to stop")?;
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build()?;
    runtime.block_on(async {
        let from = if wishes.lan { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
        let listener = TcpListener::bind(SocketAddr::from((from, wishes.port))).await.map_err(|e| {
            anyhow!("port {} cannot be listened on: {e}; name another with --port, or --port 0 for any", wishes.port)
        })?;
        let port = listener.local_addr()?.port();
        let url = format!("http://127.0.0.1:{port}/");
        println!("lanthorn is open at {url}");
        if wishes.lan {
            let secret = bench.pairing.offer(Instant::now())?;
            println!(
                "on another device of this network, once within ten minutes: http://{}/pair/{secret}",
                bench.lan_address(port)?
            );
            println!("what it shows goes over the network as it is: use one that you trust");
        }
        println!("Ctrl-C ends it; the project is on the disk at any time");
        // Whoever started it may wait for these lines.
        std::io::stdout().flush()?;
        if !wishes.no_browser {
            browse(&url);
        }
        let builder = Arc::clone(&bench);
        std::thread::Builder::new().name("builder".to_owned()).spawn(move || builder::run(&builder))?;
        let watcher = Arc::clone(&bench);
        std::thread::Builder::new().name("watcher".to_owned()).spawn(move || {
            loop {
                std::thread::sleep(WATCH);
                watcher.watch();
            }
        })?;
        server::serve(listener, routes::router(bench)).await;
        Ok(ExitCode::SUCCESS)
    })
}

impl Workbench {
    /// Where other devices find it.
    fn lan_address(&self, port: u16) -> Result<SocketAddr> {
        Ok(SocketAddr::new(pairing_page::own_address()?, port))
    }
}

/// Opens the page in a browser, where the desktop has a way to; where not, the address was said.
fn browse(url: &str) {
    let way = if cfg!(target_os = "macos") { "open" } else { "xdg-open" };
    // It goes on by itself, and what it says is of no use here.
    let _ = Command::new(way).arg(url).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn();
}
