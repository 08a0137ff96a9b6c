//! `lanthorn rehearse`: what would be seen and heard, and what is refused.

use crate::wand::Bench;
use std::fmt::Write as _;
use std::path::Path;

/// What the wand does, with its pixels stated, so that no shape is looked at.
pub(crate) const ACTS: &str = r##"
[behaviour]
board = "two-core-133"
pixels = 15
on.strike = { play = "knock", flash = { colour = "#ffffff", reach = 6 } }
on.long-press = { to = "asleep" }

[mode.asleep]
on.short-press = { to = "lit", play = "knock" }

[mode.lit]
light = { moves = "breathe", colour = "#40c0a0", round = "2 s", low = "50 %" }
hum = { sound = "drone", loud = "40 %", swell = "30 %", bend = "20 %" }
on.swing = { to = "roused" }

[mode.roused]
light = { moves = "flicker", colour = "#ffd080", low = "75 %" }
hum = { sound = "drone" }
on.swing-end = { to = "lit" }

[sound.drone]
makes = "hum"

[sound.knock]
makes = "bar"
lasts = "0.4 s"
"##;

const MOTION: &str = "press, walk 4 s, swing, strike 20 g 5 ms, rest 2 s";

/// A wand that acts.
pub(crate) fn acting(change: impl Fn(&str) -> String) -> Bench {
    Bench::new(|t| change(&format!("{t}{ACTS}")))
}

/// Exit code and everything said by `lanthorn rehearse`.
fn rehearse(bench: &Bench, more: &[&str]) -> (i32, String) {
    let output = bench.lanthorn().args(["rehearse", "prop.toml", "--out", "out"]).args(more).output().unwrap();
    let said = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap()).concat();
    (output.status.code().unwrap_or(-1), said)
}

/// Refused with these words, and nothing half written.
#[track_caller]
fn refused(bench: &Bench, more: &[&str], words: &[&str]) {
    let (code, said) = rehearse(bench, more);
    assert_eq!(code, 2, "{said}");
    for word in words {
        assert!(said.contains(word), "{word:?} is not in: {said}");
    }
    assert!(!bench.path("out").exists(), "something was written: {said}");
    let left = std::fs::read_dir(bench.dir.path())
        .unwrap()
        .flatten()
        .filter(|e| e.file_name().to_string_lossy().contains("draft"));
    assert_eq!(left.count(), 0, "a draft is left");
}

fn read(bench: &Bench, name: &str) -> Vec<u8> {
    std::fs::read(bench.path("out").join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

fn rows(bench: &Bench, name: &str) -> Vec<Vec<String>> {
    let text = String::from_utf8(read(bench, name)).unwrap();
    text.lines().map(|l| l.split(',').map(str::to_owned).collect()).collect()
}

#[test]
fn a_motion_made_by_physics_is_seen_and_heard() {
    let bench = acting(str::to_owned);
    let (code, said) = rehearse(&bench, &["--generate", MOTION]);
    assert_eq!(code, 0, "{said}");
    let events = rows(&bench, "events.csv");
    assert_eq!(events[0], ["t_s", "kind", "mode", "detail"]);
    for (kind, mode) in [("short-press", "lit"), ("swing", "roused"), ("strike", "roused"), ("sound", "lit")] {
        assert!(events.iter().any(|e| e[1] == kind && (e[2] == mode || kind == "strike")), "{kind}: {events:?}");
    }
    // Time goes on, and so does the sound: as long as the motion, to a block.
    let times: Vec<f64> = events[1..].iter().map(|e| e[0].parse().unwrap()).collect();
    assert!(times.is_sorted());
    let wav = hound::WavReader::new(std::io::Cursor::new(read(&bench, "heard.wav"))).unwrap();
    assert_eq!((wav.spec().channels, wav.spec().sample_rate, wav.spec().bits_per_sample), (1, 22_050, 16));
    let levels = rows(&bench, "levels.csv");
    assert_eq!(levels[0], ["t_s", "current_a", "sound_dbfs"]);
    assert_eq!((levels[1][0].as_str(), levels[2][0].as_str()), ("0.000", "0.100"));
    let lasts_s = f64::from(wav.duration()) / 22_050.0;
    assert!((lasts_s - 0.1 * (levels.len() - 1) as f64).abs() < 0.12, "{lasts_s} s of sound, {} steps", levels.len());
    let samples: Vec<i32> = wav.into_samples::<i16>().map(|s| i32::from(s.unwrap())).collect();
    let peak = samples.iter().map(|s| s.abs()).max().unwrap();
    assert!((2000..32_767).contains(&peak), "{peak}: it is heard, and never at the end of its range");
    // 2 rows of 15 pixels, a third of full white: 2 x 15 x 0.02 A a channel... of the strip's own row.
    let current: Vec<f64> = levels[1..].iter().map(|l| l[1].parse().unwrap()).collect();
    assert!(current[0] == 0.0 && current.iter().copied().fold(0.0, f64::max) > 0.02, "{current:?}");
    frames_are_as_told(&bench, lasts_s);
    let chart = String::from_utf8(read(&bench, "chart.svg")).unwrap();
    for word in ["turning", "felt", "strike", "mode", "roused", "never above", "dBFS", "time, s", "data:image/png"] {
        assert!(chart.contains(word), "{word} is not drawn");
    }
    assert!(!chart.contains("NaN") && !chart.contains("inf"));
}

/// The form that the guide states, read by itself.
fn frames_are_as_told(bench: &Bench, lasts_s: f64) {
    let bytes = read(bench, "frames.bin");
    let two = |at: usize| usize::from(u16::from_le_bytes([bytes[at], bytes[at + 1]]));
    let four = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
    assert_eq!((&bytes[..4], two(4), two(6), two(8), two(10)), (&b"LTFR"[..], 1, 15, 2, 50));
    let (frames, written) = (four(12), four(16));
    assert!((frames as f64 - 50.0 * lasts_s).abs() < 3.0, "{frames}");
    assert_eq!(bytes.len(), 20 + written * (4 + 45));
    let numbers: Vec<usize> = (0..written).map(|k| four(20 + k * 49)).collect();
    assert!(numbers.windows(2).all(|w| w[0] < w[1]) && numbers.iter().all(|n| *n < frames));
    assert!(numbers[0] > 0, "it starts dark");
    // A third of full white of a strip is never passed.
    for k in 0..written {
        let sum: u32 = bytes[24 + k * 49..20 + (k + 1) * 49].iter().map(|v| u32::from(*v)).sum();
        assert!(sum <= 15 * 255, "{sum}");
    }
}

/// `light/response.json` of a pack, of which nothing is asked but pixels and levels.
fn levels(strips: u32, each: u32, level: impl Fn(u32) -> f64) -> String {
    let row = |s: u32, n: u32| format!("{{\"strip\":{s},\"number\":{n},\"level\":{}}}", level(n));
    let rows: Vec<String> =
        (1..=strips).flat_map(|s| (1..=each).map(move |n| (s, n))).map(|(s, n)| row(s, n)).collect();
    format!("{{\"pixels\":[{}]}}", rows.join(","))
}

/// With the levels of a pack no pixel goes further than its own, and with those of another prop nothing is played.
#[test]
fn pixels_are_held_back_to_the_levels_of_a_pack() {
    let bench = acting(|t| t.replace("colour = \"#40c0a0\", round = \"2 s\", low = \"50 %\"", "colour = \"#40c0a0\""));
    let file = bench.path("response.json");
    let each_level = |n: u32| if n > 10 { 0.4 } else { 1.0 };
    let lit = |more: &[&str]| {
        let (code, said) = rehearse(&bench, more);
        assert_eq!(code, 0, "{said}");
        let bytes = read(&bench, "frames.bin");
        bytes[bytes.len() - 45..].to_vec()
    };
    let motion = ["--generate", "press, rest 2 s"];
    let full = lit(&motion);
    write(&file, levels(2, 15, each_level));
    let held = lit(&[motion[0], motion[1], "--levels", "response.json"]);
    // Breathing, at the same moment of the same motion.
    for (n, (whole, part)) in (1..).zip(full.chunks(3).zip(held.chunks(3))) {
        for (w, p) in whole.iter().zip(part) {
            let wanted = f64::from(*w) * each_level(n);
            assert!((f64::from(*p) - wanted).abs() <= 1.0, "pixel {n}: {p} of {w}");
        }
    }
    std::fs::remove_dir_all(bench.path("out")).unwrap();
    write(&file, levels(2, 14, each_level));
    let refuse = |words: &[&str]| {
        refused(&bench, &[motion[0], motion[1], "--levels", "response.json"], words);
    };
    refuse(&["response.json", "it has 28 pixels, and the prop 30 (2 strips of 15)"]);
    write(&file, "t_s,ax_g\n");
    refuse(&["no light/response.json of a pack"]);
    std::fs::remove_file(&file).unwrap();
    refuse(&["response.json cannot be read"]);
}

#[test]
fn the_same_motion_leaves_the_same_bytes() {
    let bench = acting(str::to_owned);
    let files = ["events.csv", "levels.csv", "frames.bin", "heard.wav", "chart.svg"];
    let mut all = Vec::new();
    for threads in ["1", "3"] {
        let mut command = bench.lanthorn();
        command.env("RAYON_NUM_THREADS", threads).args([
            "rehearse",
            "prop.toml",
            "--generate",
            MOTION,
            "--seed",
            "5",
            "--out",
            "out",
        ]);
        assert!(command.output().unwrap().status.success());
        all.push(files.map(|f| read(&bench, f)));
    }
    assert!(all[0] == all[1]);
    let (code, _) = rehearse(&bench, &["--generate", MOTION, "--seed", "6"]);
    assert!(code == 0 && read(&bench, "heard.wav") != all[0][3], "another person");
}

/// What `--generate` made is there as a recording, of which the same comes again.
#[test]
fn a_motion_that_was_made_can_be_played_again() {
    let bench = acting(str::to_owned);
    assert_eq!(rehearse(&bench, &["--generate", MOTION]).0, 0);
    let (events, sound) = (read(&bench, "events.csv"), read(&bench, "heard.wav"));
    std::fs::copy(bench.path("out/motion.csv"), bench.path("motion.csv")).unwrap();
    let (code, said) = rehearse(&bench, &["motion.csv"]);
    assert_eq!(code, 0, "{said}");
    assert!(events == read(&bench, "events.csv") && sound == read(&bench, "heard.wav"));
    assert!(!bench.path("out/motion.csv").exists(), "it is the maker's own now");
}

/// A recording of 2 s: the button, then a jolt.
fn recording(head: &str, row: impl Fn(usize) -> String) -> String {
    let mut text = format!("{head}\n");
    for k in 0..800 {
        let _ = writeln!(text, "{}", row(k));
    }
    text
}

const HEAD: &str = "t_s,ax_g,ay_g,az_g,gx_dps,gy_dps,gz_dps,button";

fn plain(k: usize) -> String {
    let jolt = if k == 600 { 9.0 } else { 1.0 };
    format!("{},{jolt},0,0,0,0,0,{}", k as f64 / 400.0, u8::from((100..160).contains(&k)))
}

fn write(path: &Path, text: impl AsRef<[u8]>) {
    std::fs::write(path, text).unwrap();
}

#[test]
fn a_recording_is_played_whatever_its_columns_are_called() {
    let bench = acting(str::to_owned);
    write(&bench.path("motion.csv"), recording(HEAD, plain));
    let (code, said) = rehearse(&bench, &["motion.csv"]);
    assert_eq!(code, 0, "{said}");
    let own = rows(&bench, "events.csv");
    assert!(own.iter().any(|e| e[1] == "short-press") && own.iter().any(|e| e[1] == "strike"), "{own:?}");
    // The same in milliseconds and metres a second squared, under other names and in another order.
    let other = |k: usize| {
        let jolt = if k == 600 { 9.0 } else { 1.0 } * 9.80665;
        format!("{},0,0,0,{},{jolt},0,0", u8::from((100..160).contains(&k)), k as f64 * 2.5)
    };
    write(&bench.path("other.csv"), recording("press,wx,wy,wz,ms,accx,accy,accz", other));
    let names = ["t=ms", "ax=accx", "ay=accy", "az=accz", "gx=wx", "gy=wy", "gz=wz", "button=press"];
    let mut more: Vec<&str> = vec!["other.csv", "--unit", "t=ms", "--unit", "a=m/s2", "--unit", "g=rad/s"];
    names.iter().for_each(|n| more.extend(["--column", n]));
    let (code, said) = rehearse(&bench, &more);
    assert_eq!(code, 0, "{said}");
    assert_eq!(rows(&bench, "events.csv"), own);
}

#[test]
fn recordings_that_are_none_are_refused() {
    let bench = acting(str::to_owned);
    let motion = bench.path("motion.csv");
    let refuse = |text: String, words: &[&str]| {
        write(&motion, text);
        refused(&bench, &["motion.csv"], words);
    };
    refuse(recording("t_s,ax_g,ay_g,az_g,gx_dps,gy_dps", |k| format!("{k},0,0,1,0,0")), &["columns missing: gz_dps"]);
    let odd = |k: usize| if k == 7 { "0.0175,NaN,0,0,0,0,0,0".to_owned() } else { plain(k) };
    refuse(recording(HEAD, odd), &["line 9, column ax_g", "\"NaN\" is not a number"]);
    refuse(recording(HEAD, |k| plain(799 - k)), &["line 3: time goes from"]);
    refuse(format!("{HEAD}\n{}\n{}\n{}\n", plain(0), plain(1), plain(2)), &["3 rows are no motion"]);
    let mut many = format!("{HEAD}\n");
    for k in 0..2_000_001 {
        let _ = writeln!(many, "{k},0,0,1,0,0,0,0");
    }
    refuse(many, &["more than 2000000 rows; cut the recording into parts"]);
    refused(&bench, &["nowhere.csv"], &["nowhere.csv cannot be read"]);
    refused(&bench, &[], &["there is no motion", "--generate"]);
    refused(&bench, &["--generate", "swing, jump"], &["act 2, \"jump\""]);
    refused(&bench, &["motion.csv", "--unit", "a=furlong"], &["no such unit"]);
    refused(&bench, &["motion.csv", "--column", "aw=x"], &["there is no column \"aw\""]);
    refused(&bench, &["--generate", MOTION, "--cell", "12"], &["--cell", "has no unit"]);
}

/// A WAV file of some samples.
pub(crate) fn wav(channels: u16, bits: u16, samples: usize) -> Vec<u8> {
    let spec = hound::WavSpec {
        channels,
        sample_rate: 44_100,
        bits_per_sample: bits,
        sample_format: hound::SampleFormat::Int,
    };
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = hound::WavWriter::new(&mut bytes, spec).unwrap();
    for k in 0..samples * usize::from(channels) {
        writer.write_sample(if k / 40 % 2 == 0 { 90 } else { -90 } << (bits - 8)).unwrap();
    }
    writer.finalize().unwrap();
    bytes.into_inner()
}

#[test]
fn sounds_of_the_maker_are_taken_or_refused_at_their_place() {
    let bench = acting(|t| {
        t.replace("[sound.knock]\nmakes = \"bar\"\nlasts = \"0.4 s\"", "[sound.knock]\nfile = \"knock.wav\"")
    });
    let file = bench.path("knock.wav");
    let at = "sound.knock.file: ";
    refused(&bench, &["--generate", MOTION], &[at, "knock.wav cannot be read"]);
    let whole = wav(1, 16, 20_000);
    for (bytes, words) in [
        (whole[..20_000].to_vec(), "cut off: its head promises 20000 samples"),
        (wav(1, 16, 0), "holds no sound"),
        (b"RIFF and so on".to_vec(), "no WAV file"),
    ] {
        write(&file, bytes);
        refused(&bench, &["--generate", MOTION], &[at, words]);
    }
    // 24 bits and stereo are no fault: they are brought to what the board plays.
    for bytes in [wav(2, 24, 20_000), wav(1, 8, 20_000)] {
        write(&file, bytes);
        let (code, said) = rehearse(&bench, &["--generate", MOTION]);
        assert_eq!(code, 0, "{said}");
        std::fs::remove_dir_all(bench.path("out")).unwrap();
    }
}

#[test]
fn what_is_not_there_is_told_at_its_place() {
    let with = |from: &str, to: &str| acting(|t| t.replacen(from, to, 1));
    let go = ["--generate", MOTION];
    refused(
        &with("to = \"roused\"", "to = \"rousd\""),
        &go,
        &["mode.lit.on.swing.to: there is no [mode.rousd]", "did you mean \"roused\"?"],
    );
    refused(
        &with("play = \"knock\", flash", "play = \"nock\", flash"),
        &go,
        &["behaviour.on.strike.play: there is no [sound.nock]"],
    );
    refused(
        &with("{ sound = \"drone\", loud", "{ sound = \"dron\", loud"),
        &go,
        &["mode.lit.hum.sound: there is no [sound.dron]"],
    );
    refused(
        &with("low = \"50 %\" }", "low = \"50 %\", pixels = [9, 16] }"),
        &go,
        &["mode.lit.light: ", "pixels 9 to 16, and a strip has 15"],
    );
    refused(&with("reach = 6", "reach = 6, at = 40"), &go, &["behaviour.on.strike: ", "pixel 40, and a strip has 15"]);
    refused(&Bench::new(str::to_owned), &go, &["has no [behaviour]"]);
}

#[test]
fn a_board_that_cannot_hold_it_is_refused_with_the_reason() {
    let with = |from: &str, to: &str| acting(|t| t.replacen(from, to, 1));
    let go = ["--generate", MOTION];
    let many = with("board = \"two-core-133\"\npixels = 15", "board = \"radio-240\"\npixels = 60");
    refused(&many, &go, &["behaviour.board: ", "sending 120 pixels holds the program up for 3600 us"]);
    let slow = with("board = \"two-core-133\"", "board = \"old\"");
    write(
        &slow.path("prop.toml"),
        std::fs::read_to_string(slow.path("prop.toml")).unwrap()
            + "[board.old]\nkind = \"two-core-133\"\nclock = \"48 MHz\"\n",
    );
    refused(&slow, &go, &["behaviour.board: ", "busy for"]);
    let small = with("board = \"two-core-133\"", "board = \"small\"");
    write(
        &small.path("prop.toml"),
        std::fs::read_to_string(small.path("prop.toml")).unwrap()
            + "[board.small]\nkind = \"two-core-133\"\nstorage = \"64 KiB\"\n",
    );
    refused(&small, &go, &["program and sounds take"]);
    let pin = with("board = \"two-core-133\"", "board = \"two-core-133\"\npins = { cell = 3 }");
    refused(&pin, &go, &["behaviour.pins: cell on pin 3: it reads no voltage"]);
}

#[test]
fn other_peoples_folders_are_left_alone() {
    let bench = acting(str::to_owned);
    std::fs::create_dir(bench.path("out")).unwrap();
    write(&bench.path("out/letter.txt"), "dear");
    let (code, said) = rehearse(&bench, &["--generate", MOTION]);
    assert!(code == 2 && said.contains("name another folder"), "{said}");
    assert_eq!(std::fs::read_dir(bench.path("out")).unwrap().count(), 1);
}

/// Without pixels stated: they follow from the shape, and the checks look at all of it.
fn checked(change: impl Fn(&str) -> String) -> (i32, String) {
    acting(|t| change(&t.replace("pixels = 15\n", ""))).check()
}

#[test]
fn a_mode_that_nobody_reaches_or_leaves_for_the_dark_fails() {
    let lost = "[mode.lost]\nlight = { colour = \"#204060\" }\non.swing = { to = \"lit\" }\n";
    let (code, said) = checked(|t| format!("{t}{lost}"));
    assert!(code == 1 && said.contains("FAILS behaviour (mode_reached): mode \"lost\" cannot be reached"), "{said}");
    let (code, said) = checked(|t| t.replace("on.long-press = { to = \"asleep\" }\n", ""));
    assert!(code == 1 && said.contains("FAILS behaviour (mode_dark): from mode \"lit\" no way leads back"), "{said}");
    let (code, said) = acting(|t| t.replace("pixels = 15", "pixels = 3")).check();
    assert!(code == 1 && said.contains("FAILS behaviour (pixels_stated)"), "{said}");
}

/// A light that goes dark and bright four times a second: refused where nothing limits it, and held where it is limited.
#[test]
fn a_strobe_of_four_a_second_is_refused() {
    let strobe = |limit: &str| {
        checked(|t| {
            t.replace("round = \"2 s\", low = \"50 %\"", "round = \"250 ms\", low = \"0 %\"")
                .replace("board = \"two-core-133\"", &format!("board = \"two-core-133\"\ncurrent = \"60 A\"{limit}"))
        })
    };
    let (code, said) = strobe("\ncalm = false");
    assert!(code == 1 && said.contains("FAILS strip (light_flashes)") && said.contains("THE LIMITER IS OFF"), "{said}");
    let (_, said) = strobe("");
    assert!(!said.contains("light_flashes"), "{said}");
}

#[test]
fn a_pack_brings_the_program_and_its_sheet() {
    let bench = acting(|t| t.replace("pixels = 15\n", "calm = false\n"));
    let output = bench.lanthorn().args(["build", "prop.toml", "--out", "out"]).output().unwrap();
    let said = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap()).concat();
    assert!(matches!(output.status.code(), Some(0 | 1)), "{said}");
    for file in
        ["main.py", "prop.py", "detect.py", "kernels.py", "strip.py", "settings.py", "bench.py", "sounds/knock.wav"]
    {
        assert!(!read(&bench, &format!("controller/{file}")).is_empty(), "{file}");
    }
    let settings = String::from_utf8(read(&bench, "controller/settings.py")).unwrap();
    assert!(settings.contains("\nSTRIPS = 2\n") && settings.contains("\nWINDOW = 0\n"), "{settings}");
    let sheet = String::from_utf8(read(&bench, "controller/sheet.svg")).unwrap();
    assert!(sheet.contains("width=\"210mm\"") && sheet.contains("limiter of flashes is OFF"), "{sheet}");
    let page = String::from_utf8(read(&bench, "index.html")).unwrap();
    assert!(page.contains("controller/sheet.svg") && page.contains("rehearsal of"));
    let findings = String::from_utf8(read(&bench, "findings.json")).unwrap();
    assert!(findings.contains("THE LIMITER IS OFF") && findings.contains("sound_unheard"));
}
