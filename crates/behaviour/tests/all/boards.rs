//! The program for a board: what is in it, and what is refused.

use crate::common::LENGTHS;
use behaviour::program::{Board, BoardError, Driver, File, Flavour, ProgramError, load, program};
use behaviour::{Hardware, Pace, Table, Thresholds, starter};

fn table(hardware: &Hardware) -> Table {
    Table::new(&starter(LENGTHS), &Thresholds::default(), hardware).expect("it runs")
}

fn made(hardware: &Hardware, board: &Board) -> Result<Vec<File>, ProgramError> {
    program(&table(hardware), &crate::common::sounds(&LENGTHS), board, Flavour::Viper)
}

fn text(files: &[File], path: &str) -> String {
    let file = files.iter().find(|f| f.path == path).expect("a file of that name");
    String::from_utf8(file.bytes.clone()).expect("text")
}

#[test]
fn all_files_are_there() {
    let files = made(&Hardware::default(), &Board::small()).expect("a program");
    let paths: Vec<&str> = files.iter().map(|f| f.path.as_str()).collect();
    assert_eq!(paths[..7], ["main.py", "prop.py", "detect.py", "kernels.py", "strip.py", "settings.py", "bench.py"]);
    assert_eq!(paths[7..], ["hum", "rush", "knock", "rise", "fall", "crackle"].map(|n| format!("sounds/{n}.wav")));
    let settings = text(&files, "settings.py");
    for line in [
        "PACE = 400",
        "PIXELS = 60",
        "BUDGET = 15300",
        "WINDOW = 9",
        "DROPS = False",
        "WIRE = (1, 0, 2,)",
        "LEVELS = bytes(())",
    ] {
        assert!(settings.lines().any(|l| l == line), "{line}");
    }
    // The sensor's filter is the widest below half the samples.
    let slow = made(&Hardware { pace: Pace::Hz200, ..Hardware::default() }, &Board::small()).expect("a program");
    let [(register, narrow), (_, wide)] = Board::small().sensor.filters;
    for (settings, value) in [(&settings, wide), (&text(&slow, "settings.py"), narrow)] {
        let line = settings.lines().find(|l| l.starts_with("SENSOR_SETUP")).expect("the setup");
        assert!(line.contains(&format!("({register}, {value})")), "{line}");
    }
    // A plain program has the same loops and no mark to compile them.
    let plain =
        program(&table(&Hardware::default()), &crate::common::sounds(&LENGTHS), &Board::small(), Flavour::Plain);
    let plain = text(&plain.expect("a program"), "kernels.py");
    assert!(
        !plain.contains("@micropython") && plain.matches("def ").count() == 17,
        "{}",
        plain.matches("def ").count()
    );
}

/// A name cannot end the text it is written in.
#[test]
fn names_are_text_whatever_is_in_them() {
    let mut behaviour = starter(LENGTHS);
    for rule in &mut behaviour.rules {
        for name in rule.from.iter_mut().chain(&mut rule.to).filter(|n| *n == "lit") {
            *name = "a\"\nimport os\\".to_owned();
        }
    }
    behaviour.modes[2].name = "a\"\nimport os\\".to_owned();
    let table = Table::new(&behaviour, &Thresholds::default(), &Hardware::default()).expect("it runs");
    let files = program(&table, &crate::common::sounds(&LENGTHS), &Board::small(), Flavour::Viper).expect("a program");
    let settings = text(&files, "settings.py");
    assert!(settings.contains("\"a\\U00000022\\U0000000aimport os\\U0000005c\""));
    let mut behaviour = starter(LENGTHS);
    behaviour.sounds[5].name = "../main".to_owned();
    behaviour.rules.iter_mut().filter_map(|r| r.sound.as_mut()).filter(|s| s.sound == "crackle").for_each(|s| {
        s.sound = "../main".to_owned();
    });
    let table = Table::new(&behaviour, &Thresholds::default(), &Hardware::default()).expect("it runs");
    let error =
        program(&table, &crate::common::sounds(&LENGTHS), &Board::small(), Flavour::Viper).expect_err("no file");
    assert!(error.to_string().contains("use letters, digits, - and _ only"), "{error}");
}

#[test]
fn what_a_board_cannot_do_is_refused_with_the_reason() {
    let refused = |hardware: &Hardware, board: &Board| made(hardware, board).expect_err("refused");
    let long = Hardware { pixels: 144, ..Hardware::default() };
    let bitstream = Board { driver: Driver::Bitstream, clock_mhz: 240.0, ..Board::small() };
    let error = refused(&long, &bitstream);
    let wanted = BoardError::HeldUp { pixels: 144, takes_us: 4320, step_us: 2500, fit: 66 };
    assert_eq!(error, ProgramError::Board(wanted));
    assert!(error.to_string().contains("a sample is due every 2500 us"));
    assert!(made(&Hardware { pixels: 66, ..Hardware::default() }, &bitstream).is_ok());
    assert!(made(&Hardware { pace: Pace::Hz200, pixels: 132, ..Hardware::default() }, &bitstream).is_ok());

    let slow = Board { clock_mhz: 48.0, ..Board::small() };
    let error = refused(&Hardware::default(), &slow).to_string();
    assert!(error.contains("% at most") && error.contains("detectors") && error.contains("sound"), "{error}");

    let tiny = Board { storage_bytes: 60_000, ..Board::small() };
    assert!(refused(&Hardware::default(), &tiny).to_string().contains("the board holds 60000"));

    let mut twice = Board::small();
    twice.pins.strip = twice.pins.sound_clock + 1;
    let error = refused(&Hardware::default(), &twice).to_string();
    assert!(error.contains("pin 17 is taken twice, by the strip and the sound's word clock"), "{error}");
    for odd in [
        Board { wire: [0, 0, 1], ..Board::small() },
        Board { clock_mhz: f64::NAN, ..Board::small() },
        Board { cell_full_mv: 0, ..Board::small() },
    ] {
        assert!(matches!(refused(&Hardware::default(), &odd), ProgramError::Board(BoardError::Range { .. })));
    }
}

/// The facts the estimate rests on, for a board of this class at half the pace and 22,050 samples of sound: detectors 12 % (40,400
/// instructions at 2 cycles, 200 a second, 133 MHz), the sensor's bus 8 % (0.39 ms each).
#[test]
fn the_load_is_the_sum_of_what_was_counted() {
    let found = load(&table(&Hardware { pace: Pace::Hz200, ..Hardware::default() }), &Board::small());
    assert!((found.detect - 0.1215).abs() < 0.001, "{found:?}");
    assert!((found.bus - 0.078).abs() < 0.001, "{found:?}");
    assert!((0.2..0.8).contains(&found.total()), "{found}");
    let double = load(&table(&Hardware::default()), &Board::small());
    assert!((double.detect / found.detect - 2.0).abs() < 1e-9);
    // Three lights over the whole strip are painted three times: 28,000 instructions for 144 pixels each, 50 times a second.
    let mut behaviour = starter(LENGTHS);
    let light = behaviour.modes[2].lights[0].clone();
    behaviour.modes[2].lights = vec![light; 3];
    let thrice = Table::new(&behaviour, &Thresholds::default(), &Hardware::default()).expect("it runs");
    let more = load(&thrice, &Board::small()).paint - double.paint;
    let wanted = 2.0 * 60.0 * (28_000.0 / 144.0) * 50.0 * 2.0 / 133e6;
    assert!((more - wanted).abs() < 1e-9, "{more} for {wanted}");
}

#[test]
fn sounds_must_be_those_of_the_table() {
    let error = program(&table(&Hardware::default()), &[], &Board::small(), Flavour::Viper).expect_err("no sounds");
    assert!(error.to_string().contains("\"hum\" has 0 samples"), "{error}");
}
