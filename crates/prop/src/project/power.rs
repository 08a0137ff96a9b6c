//! How the prop is used, and what is wanted of its circuit.

use crate::fields::Fields;
use crate::power::Recording;
use crate::quantity::{Quantity, Wanted};

/// Where the strip is fed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Feed {
    /// At its first pads.
    Start,
    /// At both ends.
    Both,
}

/// A part of each hour.
#[derive(Clone, Debug, PartialEq)]
pub struct ModeRules {
    /// Its name in the project.
    pub name: String,
    /// How much of each hour, s.
    pub time_s: f64,
    /// How bright, 0 to 1 of the cap.
    pub light: f64,
    /// Red, green, blue, 0 to 1.
    pub colour: [f64; 3],
    /// What each speaker gets in the mean, W.
    pub sound_w: f64,
    /// White flashes at the cap, each with the loudest sound, a minute.
    pub flashes: u32,
}

/// `[power]`.
#[derive(Clone, Debug, PartialEq)]
pub struct PowerRules {
    /// `power.day`: how long it is to last, s.
    pub day_s: f64,
    /// `power.ambient`: usual surroundings, °C.
    pub ambient_c: f64,
    /// `power.cold`: the coldest surroundings, °C.
    pub cold_c: f64,
    /// `power.loudest`: the loudest sound, W; otherwise what the speaker bears.
    pub loudest_w: Option<f64>,
    /// `power.gauge`: American wire gauge of the wires that carry power; otherwise chosen.
    pub gauge: Option<u32>,
    /// `power.fuse`: its rating, A; otherwise chosen.
    pub fuse_a: Option<f64>,
    /// `power.cap`: what full light is taken down to, 0 to 1; otherwise chosen.
    pub cap: Option<f64>,
    /// `power.feed`: where the strip is fed; otherwise chosen.
    pub feed: Option<Feed>,
    /// `power.diode`: whether the data goes first through a pixel of its own that is fed through a silicon diode.
    pub diode: bool,
    /// `power.step`: the day is followed in steps of so long, s.
    pub step_s: f64,
    /// `power.recorded`: file of a rehearsed recording, beside the project; in place of the modes.
    pub recorded: Option<String>,
    /// What is in it, once it is read; no rows otherwise.
    pub recording: Recording,
    /// `[power.use.NAME]`: what the hour is made of, the rest of it dark and silent; empty if nothing is said.
    pub modes: Vec<ModeRules>,
}

impl Default for PowerRules {
    fn default() -> Self {
        PowerRules {
            day_s: 8.0 * 3600.0,
            ambient_c: 20.0,
            cold_c: 10.0,
            loudest_w: None,
            gauge: None,
            fuse_a: None,
            cap: None,
            feed: None,
            diode: false,
            step_s: 0.1,
            recorded: None,
            recording: Recording::default(),
            modes: Vec::new(),
        }
    }
}

/// Reads `[power]`.
#[expect(clippy::option_option, reason = "absent and unreadable are two things here")]
pub(super) fn read_power(root: &mut Fields<'_>) -> Option<Option<PowerRules>> {
    const DAY: Wanted = Wanted::of(Quantity::Time, 60.0, 72.0 * 3600.0, "8 h");
    const WARM: Wanted = Wanted::of(Quantity::Temperature, -30.0, 60.0, "20 C");
    const WATT: Wanted = Wanted::of(Quantity::Power, 0.0, 50.0, "1 W");
    const FUSE: Wanted = Wanted::of(Quantity::Current, 0.1, 60.0, "5 A");
    const CAP: Wanted = Wanted::of(Quantity::Share, 0.01, 1.0, "40 %");
    const STEP: Wanted = Wanted::of(Quantity::Time, 0.01, 1.0, "100 ms");
    const FEEDS: [(&str, Feed); 2] = [("start", Feed::Start), ("both", Feed::Both)];
    let Some(field) = root.get("power") else { return Some(None) };
    let mut table = field.table()?;
    let usual = PowerRules::default();
    let day = table.quantity("day", &DAY, Some(usual.day_s));
    let ambient = table.quantity("ambient", &WARM, Some(usual.ambient_c));
    let cold = table.optional_quantity("cold", &WARM);
    let loudest = table.optional_quantity("loudest", &WATT);
    let gauge = table.optional("gauge", |f| f.whole(10..=34));
    let fuse = table.optional_quantity("fuse", &FUSE);
    let cap = table.optional_quantity("cap", &CAP);
    let feed = table.optional("feed", |f| f.choice(&FEEDS));
    let diode = table.flag("diode", usual.diode);
    let step = table.quantity("step", &STEP, Some(usual.step_s));
    let recorded = table.optional("recorded", |f| f.text().map(str::to_owned));
    let modes = read_modes(&mut table);
    if let (Some(Some(_)), true) = (&recorded, table.has("use")) {
        let message = "the use is recorded and stated: it is one or the other".to_owned();
        table.error_at("recorded", message, "leave out recorded, or the tables [power.use.NAME]");
    }
    if let (Some(ambient), Some(Some(cold))) = (ambient, cold)
        && cold > ambient
    {
        let message = format!("the coldest ({cold} C) is warmer than the usual ({ambient} C)");
        table.error_at("cold", message, "say the coldest that the prop is used in, or leave it out");
    }
    table.finish();
    let ambient_c = ambient?;
    Some(Some(PowerRules {
        day_s: day?,
        ambient_c,
        cold_c: cold?.unwrap_or(usual.cold_c.min(ambient_c)),
        loudest_w: loudest?,
        gauge: gauge?,
        fuse_a: fuse?,
        cap: cap?,
        feed: feed?,
        diode: diode?,
        step_s: step?,
        recorded: recorded?,
        recording: Recording::default(),
        modes: modes?.unwrap_or_default(),
    }))
}

/// The modes, in file order; `None` inside when the file names none.
#[expect(clippy::option_option, reason = "absent and unreadable are two things here")]
fn read_modes(table: &mut Fields<'_>) -> Option<Option<Vec<ModeRules>>> {
    if !table.has("use") {
        return Some(None);
    }
    let modes: Vec<Option<ModeRules>> = table.named_tables("use").into_iter().map(read_mode).collect();
    let modes = modes.into_iter().collect::<Option<Vec<_>>>()?;
    let minutes = modes.iter().map(|m| m.time_s).sum::<f64>() / 60.0;
    if modes.is_empty() || minutes > 60.0 + 1e-9 {
        let message = if modes.is_empty() {
            "no mode is named".to_owned()
        } else {
            format!("the modes take {minutes} minutes of each hour")
        };
        table.error_at(
            "use",
            message,
            "[power.use.carried] and below it time = \"40 min\"; together an hour or less, the rest is dark",
        );
        return None;
    }
    Some(Some(modes))
}

fn read_mode(mut mode: Fields<'_>) -> Option<ModeRules> {
    const TIME: Wanted = Wanted::of(Quantity::Time, 1.0, 3600.0, "40 min");
    const SHARE: Wanted = Wanted::of(Quantity::Share, 0.0, 1.0, "30 %");
    const WATT: Wanted = Wanted::of(Quantity::Power, 0.0, 50.0, "0.3 W");
    let name = mode.name.clone();
    let time = mode.quantity("time", &TIME, None);
    let light = mode.quantity("light", &SHARE, Some(0.0));
    let colour = mode.optional("colour", |f| f.quantities::<3>(&SHARE));
    let sound = mode.quantity("sound", &WATT, Some(0.0));
    let flashes = mode.get("flashes").map_or(Some(0), |f| f.whole(0..=60));
    mode.finish();
    Some(ModeRules {
        name,
        time_s: time?,
        light: light?,
        colour: colour?.unwrap_or([1.0; 3]),
        sound_w: sound?,
        flashes: flashes?,
    })
}
