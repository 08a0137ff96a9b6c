//! A behaviour to start from, with every kind of light and most triggers in it.

use crate::{Behaviour, Effect, Flash, Hum, Light, Mode, Rule, Shot, Sound, Trigger};

/// Names of the starter's sounds, in its order.
pub const STARTER_SOUNDS: [&str; 6] = ["hum", "rush", "knock", "rise", "fall", "crackle"];

/// A light that wakes at the button or a twist, breathes, is roused by a swing, answers a strike with a flash, runs
/// upwards while the tip points up, sparks when it is held still, and goes out tip first. Lengths of the sounds are in
/// samples, in the order of [`STARTER_SOUNDS`].
pub fn starter(lengths: [u32; 6]) -> Behaviour {
    use Trigger::{
        BatteryLow, Dropped, Level, LongPress, ShortPress, Still, Strike, Swing, SwingEnd, Time, TipDown, TipUp, Twist,
    };
    let blue = [0x40, 0x80, 0xFF];
    Behaviour {
        modes: vec![
            mode("asleep", None, None, None),
            mode("waking", shine(Effect::Fill, blue, 600), hum(40, 0, 0), Some(600)),
            mode("lit", shine(Effect::Breathe { low: 170 }, blue, 2600), hum(40, 20, 10), None),
            mode("roused", shine(Effect::Flicker { low: 180 }, [0x80, 0xA0, 0xFF], 1000), hum(50, 50, 40), None),
            mode("raised", shine(Effect::Pulse { reach: 10, low: 60 }, blue, 2000), hum(40, 20, 10), None),
            mode(
                "musing",
                shine(Effect::Spark { a_second: 6, low: 70 }, [0xFF, 0xA0, 0x40], 1000),
                hum(15, 20, 10),
                Some(60_000),
            ),
            mode("going", shine(Effect::Drain, blue, 800), hum(20, 0, 0), Some(800)),
        ],
        rules: vec![
            rule("asleep", ShortPress, "waking").with("rise"),
            rule("asleep", Twist, "waking").with("rise"),
            rule("waking", Time, "lit"),
            rule("going", Time, "asleep"),
            rule("going", ShortPress, "waking").with("rise"),
            rule("musing", Time, "going").with("fall"),
            rule("musing", Swing, "lit"),
            rule("musing", TipUp, "raised"),
            rule("lit", Swing, "roused").with("rush"),
            rule("raised", Swing, "roused").with("rush"),
            rule("roused", SwingEnd, "lit"),
            rule("lit", TipUp, "raised"),
            rule("raised", TipDown, "lit"),
            rule("raised", Level, "lit"),
            rule("lit", Still, "musing").with("crackle"),
            Rule { flash: Some(Flash { colour: [255; 3], at: None, reach: 16, fades_ms: 160 }), ..every(Strike) }
                .with("knock"),
            Rule { to: Some("going".to_owned()), ..every(LongPress) }.with("fall"),
            Rule { to: Some("going".to_owned()), ..every(Dropped) }.with("fall"),
            Rule { to: Some("going".to_owned()), ..every(BatteryLow) }.with("fall"),
        ],
        sounds: STARTER_SOUNDS
            .iter()
            .zip(lengths)
            .map(|(name, samples)| Sound { name: (*name).to_owned(), samples })
            .collect(),
    }
}

fn mode(name: &str, light: Option<Light>, hum: Option<Hum>, lasts_ms: Option<u32>) -> Mode {
    Mode { name: name.to_owned(), lights: light.into_iter().collect(), hum, lasts_ms }
}

fn shine(effect: Effect, colour: [u8; 3], period_ms: u32) -> Option<Light> {
    Some(Light { effect, colour, period_ms, span: None })
}

fn hum(gain_pct: u16, swell_pct: u16, bend_pct: u16) -> Option<Hum> {
    Some(Hum { sound: "hum".to_owned(), gain_pct, swell_pct, bend_pct })
}

fn rule(from: &str, on: Trigger, to: &str) -> Rule {
    Rule { from: Some(from.to_owned()), to: Some(to.to_owned()), ..every(on) }
}

fn every(on: Trigger) -> Rule {
    Rule { from: None, on, to: None, sound: None, flash: None }
}

impl Rule {
    fn with(self, sound: &str) -> Rule {
        Rule { sound: Some(Shot { sound: sound.to_owned(), gain_pct: 80, duck_pct: 50 }), ..self }
    }
}
