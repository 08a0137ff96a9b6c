//! What the maker says about how the prop is held and handled.

use super::read::STATION;
use crate::catalogue::Glue;
use crate::catalogue::rows::Stock;
use crate::fields::Fields;
use crate::quantity::{Quantity, Wanted};

/// How the prop is held, handled and judged: `[strength]`, all of it with usual values.
#[derive(Clone, Debug, PartialEq)]
pub struct StrengthRules {
    /// `check`: whether strength is worked out at all.
    pub check: bool,
    /// `hand`: station of the hand that leads, if the maker says so, mm.
    pub hand_mm: Option<f64>,
    /// `other-hand`: station of the other, if the maker says so, mm.
    pub other_mm: Option<f64>,
    /// `swing`: highest rate in use, degrees a second.
    pub swing_deg_s: f64,
    /// `swing-stop`: time in which a swing comes to rest, s.
    pub stop_s: f64,
    /// `bump`: speed at which the tip meets something, mm/s.
    pub bump_mm_s: f64,
    /// `drop`: height it is set down from, mm.
    pub drop_mm: f64,
    /// `safety`: how much more it must bear than it is asked to, of the weakest material of its spread.
    pub safety: f64,
    /// `metal`: whether the event allows metal inside.
    pub metal: bool,
    /// `glue`: what holds the pieces together.
    pub glue: Glue,
    /// `air`: of the hall, °C.
    pub air_c: f64,
    /// `car`: air in a car parked in summer, °C.
    pub car_c: f64,
    /// `sun`: on its side, W/m², outdoors; 0: never.
    pub sun_w_m2: f64,
    /// `level`: share of full white at which it is worn, 0 to 1.
    pub level: f64,
}

impl Default for StrengthRules {
    fn default() -> StrengthRules {
        StrengthRules {
            check: true,
            hand_mm: None,
            other_mm: None,
            swing_deg_s: SWING_DEG_S,
            stop_s: STOP_S,
            bump_mm_s: BUMP_MM_S,
            drop_mm: DROP_MM,
            safety: SAFETY,
            metal: true,
            glue: Glue {
                name: String::new(),
                title: String::new(),
                shear_mpa: 0.0,
                pull_mpa: 0.0,
                spread: 0.0,
                softens_c: 0.0,
                opens_s: 0.0,
                clamps_s: 0.0,
                cures_s: 0.0,
                source: String::new(),
            },
            air_c: AIR_C,
            car_c: CAR_C,
            sun_w_m2: SUN_W_M2,
            level: LEVEL,
        }
    }
}

/// Middles of two hands are no nearer than this, mm: most of a palm (our choice).
pub(crate) const HANDS_APART_MM: f64 = 60.0;
/// A heavy prop posed slowly peaks at 283 degrees a second (90 degrees in half a second).
const SWING_DEG_S: f64 = 300.0;
/// It is stopped in half the time that it took (our choice).
const STOP_S: f64 = 0.25;
/// As after a fall of 1 cm: a knock in handling. Walking into something is 1.4 m/s, a blow far more (our choice).
const BUMP_MM_S: f64 = 450.0;
/// Set down from 2 cm (our choice).
const DROP_MM: f64 = 20.0;
/// What the weakest material of its spread must bear of what is asked: 1.5 is the factor on variable loads in EN 1990 (from
/// memory), which it puts beside what materials scatter. With the catalogue's spreads a plastic's usual strength is then 2
/// times what is asked, a glue's 2.5 to 3 times.
const SAFETY: f64 = 1.5;
const AIR_C: f64 = 25.0;
/// Air in a car in the sun of summer: a weather service's test car came to 51 °C within two hours at 33 to 35 °C outside
/// (news report, 2006); under its glass things get far hotter.
const CAR_C: f64 = 51.0;
/// The sun square on a surface at noon (from memory).
const SUN_W_M2: f64 = 900.0;
/// How bright pixels are usually run in white: more is glare, heat and an empty cell (common practice, no source: 20 to 35 %).
const LEVEL: f64 = 0.3;

pub(super) fn read_strength(root: &mut Fields<'_>, stock: &Stock) -> Option<StrengthRules> {
    const SWING: Wanted = Wanted::of(Quantity::Turning, 0.0, 3000.0, "300 deg/s");
    const STOP: Wanted = Wanted::of(Quantity::Time, 0.02, 5.0, "0.25 s");
    const BUMP: Wanted = Wanted::of(Quantity::Speed, 0.0, 20_000.0, "0.45 m/s");
    const DROP: Wanted = Wanted::length(0.0, 2000.0, "20 mm");
    const AIR: Wanted = Wanted::of(Quantity::Temperature, 0.0, 50.0, "25 C");
    const CAR: Wanted = Wanted::of(Quantity::Temperature, 20.0, 100.0, "51 C");
    const LEVELS: Wanted = Wanted::of(Quantity::Share, 0.01, 1.0, "30 %");
    let any = stock.rows.glues.first()?;
    let usual = StrengthRules { glue: any.clone(), ..StrengthRules::default() };
    let Some(field) = root.get("strength") else { return Some(usual) };
    let mut table = field.table()?;
    let check = table.flag("check", usual.check);
    let hand = table.optional_quantity("hand", &STATION);
    let other = table.optional_quantity("other-hand", &STATION);
    let swing = table.quantity("swing", &SWING, Some(usual.swing_deg_s));
    let stop = table.quantity("swing-stop", &STOP, Some(usual.stop_s));
    let bump = table.quantity("bump", &BUMP, Some(usual.bump_mm_s));
    let drop = table.quantity("drop", &DROP, Some(usual.drop_mm));
    let safety = table.get("safety").map_or(Some(usual.safety), |f| f.number(1.0..=10.0));
    let metal = table.flag("metal", usual.metal);
    let glue = table.get("glue").map_or(Some(any), |f| stock.find(&f, &stock.rows.glues));
    let air = table.quantity("air", &AIR, Some(usual.air_c));
    let car = table.quantity("car", &CAR, Some(usual.car_c));
    let sun = table.get("sun").map_or(Some(usual.sun_w_m2), |f| f.number(0.0..=1200.0));
    let level = table.quantity("level", &LEVELS, Some(usual.level));
    if let (Some(Some(hand)), Some(Some(other))) = (hand, other)
        && (hand - other).abs() < HANDS_APART_MM
    {
        let message = format!("both hands are at stations {hand} and {other} mm, which is one place");
        let way_out = format!("hands are at least {HANDS_APART_MM:.0} mm apart; leave this out for one hand");
        table.error_at("other-hand", message, &way_out);
    }
    table.finish();
    Some(StrengthRules {
        check: check?,
        hand_mm: hand?,
        other_mm: other?,
        swing_deg_s: swing?,
        stop_s: stop?,
        bump_mm_s: bump?,
        drop_mm: drop?,
        safety: safety?,
        metal: metal?,
        glue: glue?.clone(),
        air_c: air?,
        car_c: car?,
        sun_w_m2: sun?,
        level: level?,
    })
}
