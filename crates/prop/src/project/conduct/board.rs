//! The board, its pins, and how sensor and strip are joined to it.

use crate::catalogue::rows::Stock;
use crate::catalogue::{Board, Chip, boards};
use crate::fields::{Field, Fields};
use behaviour::program::Pins;

/// What the program runs on.
pub(super) struct OnBoard {
    pub(super) board: Board,
    pub(super) chip: Chip,
    pub(super) pins: Pins,
    pub(super) axes: Option<[i8; 3]>,
    pub(super) wire: [u8; 3],
}

/// Reads the keys of `[behaviour]` about the board.
pub(super) fn read(table: &mut Fields<'_>, stock: &Stock) -> Option<OnBoard> {
    let board =
        table.need("board", "board = \"two-core-133\"").and_then(|f| stock.find(&f, &stock.rows.boards)).cloned();
    let chip = match table.get("sensor") {
        Some(field) => stock.find(&field, &stock.rows.chips).cloned(),
        None => stock.rows.chips.first().cloned(),
    };
    let pins = match (table.get("pins"), &board) {
        (Some(field), Some(board)) => {
            boards::read_pins(&field, Some(&board.usual)).and_then(|pins| led_out(&field, &pins, board))
        }
        (None, Some(board)) => Some(board.usual),
        (_, None) => None,
    };
    let axes = table.optional("sensor-axes", |f| read_axes(&f));
    let wire = table.get("colours").map_or(Some([1, 0, 2]), |f| read_wire(&f));
    Some(OnBoard { board: board?, chip: chip?, pins: pins?, axes: axes?, wire: wire? })
}

/// Pins that the board has, each for what it can do, and each taken once.
fn led_out(field: &Field<'_>, pins: &Pins, board: &Board) -> Option<Pins> {
    let taken = boards::listed(pins).map(u32::from);
    let list = |of: &[u32]| of.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
    let mut sound = true;
    let mut refuse = |name: &str, pin: u32, why: &str, can: &[u32]| {
        let message = format!("{name} on pin {pin}: {why}");
        sound = field.error::<()>(message, format!("{} has for it: {}", board.name, list(can))).is_some();
    };
    let word_clock = taken[5] + 1;
    let named = boards::PINS.iter().copied().zip(taken).chain([("sound-clock (its word clock)", word_clock)]);
    let all: Vec<(&str, u32)> = named.collect();
    for (k, &(name, pin)) in all.iter().enumerate() {
        let (can, why) = match name {
            "cell" => (&board.analogue, "it reads no voltage"),
            "clock" => (&board.bus[0], "the bus cannot have its clock there"),
            "data" => (&board.bus[1], "the bus cannot have its data there"),
            _ => (&board.pins, "that pin does not lead out, or is no output"),
        };
        if !can.contains(&pin) {
            refuse(name, pin, why, can);
        } else if let Some((other, _)) = all[..k].iter().find(|(_, p)| *p == pin) {
            refuse(name, pin, &format!("{other} is on it already"), can);
        }
    }
    sound.then_some(*pins)
}

/// Which of the sensor's axes lies along, across and through the prop: `["+x", "-z", "+y"]`.
fn read_axes(field: &Field<'_>) -> Option<[i8; 3]> {
    const AXES: [(&str, i8); 6] = [("+x", 1), ("-x", -1), ("+y", 2), ("-y", -2), ("+z", 3), ("-z", -3)];
    let example = "[\"+x\", \"+y\", \"+z\"]";
    let items = field.items(example)?;
    let [along, across, through] = items.as_slice() else {
        return field.error("there must be three axes here", format!("along, across and through: {example}"));
    };
    let axes = [along.choice(&AXES)?, across.choice(&AXES)?, through.choice(&AXES)?];
    // A right-handed prop has a right-handed sensor in it.
    let sign: i32 = axes.iter().map(|a| i32::from(a.signum())).product();
    let turn = match axes.map(i8::unsigned_abs) {
        [1, 2, 3] | [2, 3, 1] | [3, 1, 2] => 1,
        [2, 1, 3] | [1, 3, 2] | [3, 2, 1] => -1,
        _ => return field.error("an axis is named twice", format!("each of x, y and z once: {example}")),
    };
    if sign * turn < 0 {
        return field
            .error("no sensor lies so: these axes are a mirror image", "turn one of the three the other way round");
    }
    Some(axes)
}

/// The order of colours on the wire: `"grb"`.
fn read_wire(field: &Field<'_>) -> Option<[u8; 3]> {
    field.choice(&[
        ("grb", [1, 0, 2]),
        ("rgb", [0, 1, 2]),
        ("rbg", [0, 2, 1]),
        ("gbr", [1, 2, 0]),
        ("brg", [2, 0, 1]),
        ("bgr", [2, 1, 0]),
    ])
}
