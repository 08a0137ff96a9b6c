//! Thresholds: what counts as a swing, a strike, held still, an empty cell.

use super::millis;
use crate::fields::Fields;
use crate::quantity::{Quantity, Wanted};
use behaviour::Thresholds;

/// Reads `[motion]`, and the thresholds of the cell from `[behaviour]`.
pub(super) fn read(root: &mut Fields<'_>, table: &mut Fields<'_>) -> Option<Thresholds> {
    let usual = Thresholds::default();
    let volt = |least: f64, most: f64| Wanted::of(Quantity::Voltage, least, most, "3.4 V");
    let low = table.quantity("dims-below", &volt(1.0, 4.5), Some(f64::from(usual.low_mv) / 1000.0));
    let empty = table.quantity("dark-below", &volt(0.9, 4.4), Some(f64::from(usual.empty_mv) / 1000.0));
    let mut of_motion = match root.get("motion") {
        None => Some(usual),
        Some(field) => field.table().and_then(|motion| read_motion(motion, &usual)),
    };
    let (low_mv, empty_mv) = (millis(low?) as u16, millis(empty?) as u16);
    if low_mv <= empty_mv {
        let message = format!("it goes dark at {empty_mv} mV, before it dims at {low_mv} mV");
        let at = if table.has("dark-below") { "dark-below" } else { "dims-below" };
        table.error_at(at, message, "dims-below must be the higher of the two");
        return None;
    }
    if let Some(motion) = &mut of_motion {
        (motion.low_mv, motion.empty_mv) = (low_mv, empty_mv);
    }
    of_motion
}

fn read_motion(mut motion: Fields<'_>, usual: &Thresholds) -> Option<Thresholds> {
    let rate = |least: f64, most: f64| Wanted::of(Quantity::Turning, least, most, "400 deg/s");
    let jolt = |least: f64, most: f64| Wanted::of(Quantity::Acceleration, least, most, "2.5 g");
    let time = |least_ms: f64, most_ms: f64| Wanted::of(Quantity::Time, least_ms / 1000.0, most_ms / 1000.0, "100 ms");
    let angle = Wanted::of(Quantity::Angle, 5.0, 60.0, "35 deg");
    let mut take = |name: &'static str, wanted: Wanted, scale: f64, usual: u16| {
        motion.quantity(name, &wanted, Some(f64::from(usual) / scale)).map(|v| (v * scale).round() as u16)
    };
    // The ranges are those that the detectors were made for.
    let swing = take("swing", rate(100.0, 1900.0), 1.0, usual.swing_dps);
    let swing_over = take("swing-over", rate(50.0, 1500.0), 1.0, usual.swing_off_dps);
    let swing_running = take("swing-running", rate(100.0, 1950.0), 1.0, usual.swing_hard_dps);
    let swing_time = take("swing-time", time(5.0, 500.0), 1000.0, usual.swing_ms);
    let running = take("running", jolt(0.5, 8.0), 1000.0, usual.running_mg);
    let strike = take("strike", jolt(0.5, 16.0), 1000.0, usual.strike_mg);
    let strike_rest = take("strike-rest", time(20.0, 2000.0), 1000.0, usual.strike_rest_ms);
    let twist = take("twist", rate(100.0, 1900.0), 1.0, usual.twist_dps);
    let twist_time = take("twist-time", time(20.0, 2000.0), 1000.0, usual.twist_ms);
    let upright = take("upright", angle, 1.0, usual.upright_deg);
    let level = take("level", angle, 1.0, usual.level_deg);
    let pose_time = take("pose-time", time(50.0, 5000.0), 1000.0, usual.pose_ms);
    let still_time = take("still-time", time(200.0, 60_000.0), 1000.0, usual.still_ms);
    let short = take("short-press", time(50.0, 5000.0), 1000.0, usual.short_ms);
    let long = take("long-press", time(100.0, 10_000.0), 1000.0, usual.long_ms);
    let ratio = motion.get("strike-ratio").map_or(Some(u32::from(usual.strike_ratio)), |f| f.whole(1..=20));
    let drops = motion.flag("drops", usual.drops);
    let found = Thresholds {
        swing_dps: swing?,
        swing_off_dps: swing_over?,
        swing_hard_dps: swing_running?,
        swing_ms: swing_time?,
        running_mg: running?,
        strike_mg: strike?,
        strike_ratio: ratio? as u16,
        strike_rest_ms: strike_rest?,
        twist_dps: twist?,
        twist_ms: twist_time?,
        upright_deg: upright?,
        level_deg: level?,
        pose_ms: pose_time?,
        still_ms: still_time?,
        drops: drops?,
        short_ms: short?,
        long_ms: long?,
        ..*usual
    };
    let orders = [
        ("swing-over", found.swing_off_dps, "swing", found.swing_dps),
        ("swing", found.swing_dps, "swing-running", found.swing_hard_dps),
        ("short-press", found.short_ms, "long-press", found.long_ms),
    ];
    let mut sound = true;
    for (lower, low, upper, high) in orders {
        if low >= high {
            let at = if motion.has(lower) { lower } else { upper };
            motion.error_at(at, format!("{lower} is not below {upper}"), "make it the lower of the two");
            sound = false;
        }
    }
    if found.upright_deg + found.level_deg > 90 {
        let at = if motion.has("upright") { "upright" } else { "level" };
        motion.error_at(at, "upright and level overlap".to_owned(), "together they may have 90 deg");
        sound = false;
    }
    motion.finish();
    sound.then_some(found)
}

/// A level 0 to 255 from a share.
pub(super) fn level(share: f64) -> u8 {
    (share * 255.0).round() as u8
}
