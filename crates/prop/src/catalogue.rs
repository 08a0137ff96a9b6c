//! Rows of the catalogue: generic kinds of materials, strips, bars and printers, each with its source.
//!
//! The built-in rows stand in `catalogue/*.toml` at the repository's root, in the same keys that a project uses to add
//! a row or to change one.

pub(crate) mod admission;
pub(crate) mod boards;
pub(crate) mod electrics;
pub(crate) mod finishing;
pub(crate) mod hardware;
pub(crate) mod holding;
#[cfg(test)]
mod light_tests;
pub(crate) mod optics;
pub(crate) mod prices;
pub(crate) mod rows;
pub(crate) mod seasons;

use crate::diagnostic::Diagnostics;
use crate::fields::{Fields, Report, document};
use rows::Standing;
use serde::Serialize;

pub use admission::{EventRow, TravelRow};
pub use boards::{Board, Chip};
pub use electrics::{Boost, Electrics};
pub use finishing::{Binder, Filler, Laying, Plastic, SupplyRow, Tool, WrapRow};
pub use hardware::{Connector, Insert, Magnet, Rod, Screw};
pub use holding::{Glue, Holding};
pub use optics::{Coat, CoatKind, Optics, PerColour, Shine};
pub use prices::{Amount, Price, Unit};
pub use seasons::Season;

/// Everything that can be named in a project.
#[derive(Clone, Debug, PartialEq)]
pub struct Catalogue {
    /// Printing materials.
    pub materials: Vec<Material>,
    /// Light strips.
    pub strips: Vec<Strip>,
    /// Stiffening bars.
    pub bars: Vec<Bar>,
    /// Kinds of printers.
    pub printers: Vec<PrinterRow>,
    /// Round stock that pegs are cut from.
    pub rods: Vec<Rod>,
    /// Disc magnets.
    pub magnets: Vec<Magnet>,
    /// Heat-set inserts.
    pub inserts: Vec<Insert>,
    /// Screws.
    pub screws: Vec<Screw>,
    /// Wire connectors.
    pub connectors: Vec<Connector>,
    /// Parts that go into bays and ports.
    pub parts: Vec<PartRow>,
    /// Primers, paints, clear coats and linings.
    pub coats: Vec<Coat>,
    /// Glues.
    pub glues: Vec<Glue>,
    /// Boards that run the program.
    pub boards: Vec<Board>,
    /// Motion sensors.
    pub chips: Vec<Chip>,
    /// Fillers.
    pub fillers: Vec<Filler>,
    /// What grips are wound with.
    pub wraps: Vec<WrapRow>,
    /// What else is used up.
    pub supplies: Vec<SupplyRow>,
    /// What things cost.
    pub prices: Vec<Price>,
    /// What events allow.
    pub events: Vec<EventRow>,
    /// What ways of travel take.
    pub travels: Vec<TravelRow>,
    /// The air of places through the year.
    pub seasons: Vec<Season>,
}

/// A kind of printer: a project's printer starts from one.
#[derive(Clone, Debug, PartialEq)]
pub struct PrinterRow {
    /// Name in words.
    pub title: String,
    /// Its values, under the row's catalogue name.
    pub printer: Printer,
    /// Source of the row.
    pub source: String,
}

impl Catalogue {
    /// The catalogue that comes with the program. Names are unique within a list; every row has a source.
    ///
    /// # Panics
    /// Never: the files are part of the program, and a test reads them.
    pub fn built_in() -> Catalogue {
        Catalogue::read([
            include_str!("../../../catalogue/materials.toml"),
            include_str!("../../../catalogue/strips.toml"),
            include_str!("../../../catalogue/bars.toml"),
            include_str!("../../../catalogue/printers.toml"),
            include_str!("../../../catalogue/hardware.toml"),
            include_str!("../../../catalogue/parts.toml"),
            include_str!("../../../catalogue/coats.toml"),
            include_str!("../../../catalogue/glues.toml"),
            include_str!("../../../catalogue/boards.toml"),
            include_str!("../../../catalogue/finishing.toml"),
            include_str!("../../../catalogue/prices.toml"),
            include_str!("../../../catalogue/admission.toml"),
            include_str!("../../../catalogue/seasons.toml"),
        ])
        .expect("the built-in catalogue is tested")
    }

    /// Reads the files: materials, strips, bars, printers, hardware, parts, coats, glues, boards, finishing, prices, admission, seasons.
    fn read(
        [
            materials,
            strips,
            bars,
            printers,
            hardware,
            parts,
            coats,
            glues,
            boards,
            finishing,
            prices,
            admission,
            seasons,
        ]: [&str; 13],
    ) -> Result<Catalogue, Diagnostics> {
        Ok(Catalogue {
            materials: list(materials, "material", rows::material)?,
            strips: list(strips, "strip", rows::strip)?,
            bars: list(bars, "bar", rows::bar)?,
            printers: list(printers, "printer", rows::printer)?,
            rods: among(hardware, "rod", hardware::rod)?,
            magnets: among(hardware, "magnet", hardware::magnet)?,
            inserts: among(hardware, "insert", hardware::insert)?,
            screws: among(hardware, "screw", hardware::screw)?,
            connectors: among(hardware, "connector", hardware::connector)?,
            parts: list(parts, "part", rows::part)?,
            coats: list(coats, "coat", optics::coat)?,
            glues: list(glues, "glue", holding::glue)?,
            boards: rows_of(boards, "board", &["chip"], boards::board)?,
            chips: rows_of(boards, "chip", &["board"], boards::chip)?,
            fillers: rows_of(finishing, "filler", &["wrap", "supply"], finishing::filler)?,
            wraps: rows_of(finishing, "wrap", &["filler", "supply"], finishing::wrap)?,
            supplies: rows_of(finishing, "supply", &["filler", "wrap"], finishing::supply)?,
            prices: list(prices, "price", prices::price)?,
            events: rows_of(admission, "event", &["travel"], admission::event)?,
            travels: rows_of(admission, "travel", &["event"], admission::travel)?,
            seasons: list(seasons, "season", seasons::season)?,
        })
    }
}

/// The kinds of rows that stand together in the hardware file.
const HARDWARE: [&str; 5] = ["rod", "magnet", "insert", "screw", "connector"];

/// The rows `[name.ROW]` of a file that has no others.
fn list<R>(
    text: &str,
    name: &'static str,
    read: impl Fn(Fields<'_>, Standing<'_, R>) -> Option<R>,
) -> Result<Vec<R>, Diagnostics> {
    rows_of(text, name, &[], read)
}

/// The rows `[name.ROW]` of the hardware file.
fn among<R>(
    text: &str,
    name: &'static str,
    read: impl Fn(Fields<'_>, Standing<'_, R>) -> Option<R>,
) -> Result<Vec<R>, Diagnostics> {
    rows_of(text, name, &HARDWARE, read)
}

fn rows_of<R>(
    text: &str,
    name: &'static str,
    beside: &[&'static str],
    read: impl Fn(Fields<'_>, Standing<'_, R>) -> Option<R>,
) -> Result<Vec<R>, Diagnostics> {
    let report = Report::default();
    let table = document(text, &report);
    let mut rows = Vec::new();
    if let Some(table) = &table {
        let mut root = Fields::root(table.get_ref(), &report);
        rows = root.named_tables(name).into_iter().filter_map(|row| read(row, Standing::BuiltIn)).collect();
        for other in beside {
            let _ = root.get(other);
        }
        root.finish();
    }
    if report.is_empty() { Ok(rows) } else { Err(report.into_sorted()) }
}

/// How a printer makes a layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Process {
    /// Melted filament.
    Filament,
    /// Light-cured resin.
    Resin,
}

/// A printer as the project describes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Printer {
    /// Name in the project.
    pub name: String,
    /// How it prints.
    pub process: Process,
    /// Room: width, depth, height, mm.
    pub bed_mm: [f64; 3],
    /// Kept free at each side of the bed and below the top, mm.
    pub margin_mm: f64,
    /// Layer height, mm.
    pub layer_mm: f64,
    /// Bead width (filament), mm.
    pub bead_mm: f64,
    /// Mean speed while extruding, mm/s (filament).
    pub speed_mm_s: f64,
    /// Time a layer takes at least, s; for resin: time a layer takes.
    pub layer_time_s: f64,
    /// Heating, levelling and cooling per plate, s.
    pub start_time_s: f64,
    /// Steepest overhang from the vertical that prints unsupported, degrees.
    pub overhang_deg: f64,
    /// Gap per side for parts that must slide, mm: least, most.
    pub slide_gap_mm: [f64; 2],
    /// Gap per side for glued locating fits, mm.
    pub glue_gap_mm: f64,
    /// How much narrower a printed slot may come out, mm in all (both sides together).
    pub slot_loss_mm: f64,
    /// Kept free between two pieces on a bed, mm.
    pub spacing_mm: f64,
    /// Width of the brim laid round a piece that needs one to stand, mm; 0 where none is laid.
    pub brim_mm: f64,
    /// Speed of moves without laying, mm/s (filament).
    pub travel_mm_s: f64,
    /// Time really taken for the layers as a multiple of the computed one: usual, least, most. What a maker's measured
    /// times narrow.
    pub pace: [f64; 3],
    /// How much smaller an upright hole may come out, mm on its diameter.
    pub hole_loss_mm: f64,
    /// Gap per side left where a hole comes out that small around what is pressed into it, mm: 0 touches all round, less
    /// than 0 squeezes.
    pub press_gap_mm: f64,
    /// Where clearances and pace come from.
    pub origins: Origins,
}

/// Where a printer's clearances and its pace come from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Origins {
    /// Of `slide_gap_mm`.
    pub slide_gap: Origin,
    /// Of `glue_gap_mm`.
    pub glue_gap: Origin,
    /// Of `slot_loss_mm`.
    pub slot_loss: Origin,
    /// Of `hole_loss_mm`.
    pub hole_loss: Origin,
    /// Of `press_gap_mm`.
    pub press_gap: Origin,
    /// Of `pace`.
    pub pace: Origin,
}

/// Who says a value.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Origin {
    /// The kind of printer or stock in the catalogue.
    #[default]
    Catalogue,
    /// The project file, which has the last word.
    Project,
    /// Measured: on what and when, in words.
    Learnt(String),
}

impl Origin {
    /// In words, for the source of a finding; `key` is the value's name in the project file.
    pub fn words(&self, key: &str) -> String {
        match self {
            Origin::Catalogue => format!("{key} of its kind in the catalogue"),
            Origin::Project => format!("{key} in the project file"),
            Origin::Learnt(from) => format!("{key} learnt from {from}"),
        }
    }
}

/// How a printing material is sold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Supply {
    /// Filament on a spool.
    Spool {
        /// Filament on it, g.
        mass_g: f64,
        /// Thickness of the filament, mm.
        diameter_mm: f64,
    },
    /// Resin in a bottle.
    Bottle {
        /// Resin in it, ml.
        volume_ml: f64,
    },
}

/// A printing material.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Catalogue name, such as `abs-white`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// How it is printed.
    pub process: Process,
    /// Density, g/cm3: usual, lowest, highest.
    pub density_g_cm3: [f64; 3],
    /// How it is sold.
    pub supply: Supply,
    /// What it does to light.
    pub optics: Optics,
    /// Whether a graded wall of it is a whole number of beads thick, where the body says nothing.
    pub whole_beads: bool,
    /// `plastic`: its family; `None` where nobody said.
    pub plastic: Option<finishing::Plastic>,
    /// `solvent`: what melts it, so that scraps of it make a paste; `None` where nothing that is handled at home does.
    pub solvent: Option<String>,
    /// What it bears.
    pub holding: Holding,
    /// Source of the row.
    pub source: String,
}

/// An addressable light strip.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// Catalogue name, such as `strip-60`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Distance between pixels, mm.
    pub pitch_mm: f64,
    /// Width of the board and how much wider it may be, mm.
    pub width_mm: [f64; 2],
    /// Thickness of the bare board, mm.
    pub board_mm: f64,
    /// Height from the board's back to the emitting face, and how much more it may be, mm.
    pub height_mm: [f64; 2],
    /// Side of the square pixel package, mm.
    pub pixel_mm: f64,
    /// Extra height of a solder bump over the board at a splice or wire end, mm.
    pub bump_mm: f64,
    /// Width of the strip's middle that bumps and pixels take up, mm.
    pub crown_mm: f64,
    /// Mass per metre, g.
    pub mass_g_m: f64,
    /// How it shines.
    pub shine: Shine,
    /// Source of the row.
    pub source: String,
}

/// A stiffening bar: flat or round stock.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// Catalogue name, such as `flat-aluminium-12x3`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// Section, mm: thickness (across the strip's facing), height. Equal for a round bar.
    pub size_mm: [f64; 2],
    /// Whether it is round.
    pub round: bool,
    /// How much larger the stock may be on each measure, mm.
    pub tolerance_mm: f64,
    /// Density, g/cm3: a tube's mass over its whole outline.
    pub density_g_cm3: f64,
    /// Diffuse reflectance of its surface, 0 to 1.
    pub reflect: f64,
    /// Diameter of a tube's bore, mm; 0 for a full section.
    pub bore_mm: f64,
    /// Whether it is metal: some events allow none.
    pub metal: bool,
    /// Whether it is wood: some events allow none of that either.
    pub wood: bool,
    /// What it bears; along and across are the same.
    pub holding: Holding,
    /// Source of the row.
    pub source: String,
}

impl Bar {
    /// Area inside its outline, mm2, a tube's bore with it.
    #[must_use]
    pub fn outline_mm2(&self) -> f64 {
        let share = if self.round { std::f64::consts::FRAC_PI_4 } else { 1.0 };
        share * self.size_mm[0] * self.size_mm[1]
    }

    /// Mass of a millimetre, g: a tube's density is that of its whole outline.
    #[must_use]
    pub fn g_mm(&self) -> f64 {
        self.outline_mm2() * self.density_g_cm3 / 1000.0
    }
}

/// What a part is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartKind {
    /// Gives the power.
    Cell,
    /// Decides what the prop does.
    Controller,
    /// Feels how the prop moves; held stiffly, its axes are recorded.
    Sensor,
    /// Drives the speaker.
    Amplifier,
    /// Makes the strip's voltage out of the cell's.
    Converter,
    /// Sounds, in front of a closed chamber.
    Speaker,
    /// Pressed from outside.
    Switch,
    /// The cell is charged through it.
    ChargePort,
    /// The controller's program goes in through it.
    ProgramPort,
    /// Burns before the wires do.
    Fuse,
}

/// A part that goes into a bay or a port.
#[derive(Clone, Debug, PartialEq)]
pub struct PartRow {
    /// Catalogue name, such as `cell-18650`.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// What it is for.
    pub kind: PartKind,
    /// Whether its section square to its length is a circle.
    pub round: bool,
    /// Length, width, thickness, mm; of a part in a port: how far it reaches in behind its flange, width, height.
    pub size_mm: [f64; 3],
    /// How much larger each measure may be, mm.
    pub over_mm: f64,
    /// Kept free beyond its wire end, mm.
    pub room_mm: f64,
    /// Where its wires leave the wire end, from its middle across its width and up its thickness, mm.
    pub exit_mm: [f64; 2],
    /// Width, height, thickness of the rim on the outside, mm: the part sits in a port.
    pub flange_mm: Option<[f64; 3]>,
    /// Least bend radius of its wires, mm.
    pub bend_mm: f64,
    /// Wires that leave it.
    pub wires: u32,
    /// Diameter of a speaker's cone, mm; 0 for other parts.
    pub cone_mm: f64,
    /// Least closed room behind a speaker, cm3; 0 for other parts.
    pub chamber_cm3: f64,
    /// Mass, g.
    pub mass_g: f64,
    /// What it does in the circuit.
    pub electrics: Electrics,
    /// Source of the row.
    pub source: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every name once, every source said.
    #[track_caller]
    fn sound<'r>(rows: impl Iterator<Item = (&'r str, &'r str, &'r str)>, at_least: usize) {
        let mut names = Vec::new();
        for (name, title, source) in rows {
            assert!(source.len() > 8 && title.len() > 4, "{name}: {title}: {source}");
            assert!(name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{name}");
            names.push(name);
        }
        assert!(names.len() >= at_least);
        names.sort_unstable();
        names.dedup_by(|a, b| {
            assert_ne!(a, b, "twice");
            false
        });
    }

    #[test]
    fn every_built_in_row_has_a_source_and_sane_values() {
        let c = Catalogue::built_in();
        sound(c.materials.iter().map(|m| (m.name.as_str(), m.title.as_str(), m.source.as_str())), 9);
        sound(c.strips.iter().map(|s| (s.name.as_str(), s.title.as_str(), s.source.as_str())), 4);
        sound(c.bars.iter().map(|b| (b.name.as_str(), b.title.as_str(), b.source.as_str())), 10);
        sound(c.printers.iter().map(|p| (p.printer.name.as_str(), p.title.as_str(), p.source.as_str())), 6);
        sound(c.rods.iter().map(|r| (r.name.as_str(), r.title.as_str(), r.source.as_str())), 10);
        sound(c.magnets.iter().map(|m| (m.name.as_str(), m.title.as_str(), m.source.as_str())), 4);
        sound(c.inserts.iter().map(|i| (i.name.as_str(), i.title.as_str(), i.source.as_str())), 3);
        sound(c.screws.iter().map(|s| (s.name.as_str(), s.title.as_str(), s.source.as_str())), 6);
        sound(c.connectors.iter().map(|s| (s.name.as_str(), s.title.as_str(), s.source.as_str())), 3);
        for s in &c.screws {
            // A screw passes its own hole with a tenth of its thread to spare and more, and finds an insert.
            let thread: f64 = s.thread[1..].parse().unwrap();
            assert!(s.hole_mm > thread * 1.1 && s.hole_mm < s.head_mm && s.length_mm > s.head_height_mm, "{s:?}");
            assert!(c.inserts.iter().any(|i| i.thread == s.thread && i.hole_mm > thread), "{s:?}");
        }
        for m in &c.magnets {
            assert!(m.thickness_mm <= m.diameter_mm && m.tolerance_mm < 0.2, "{m:?}");
        }
        sound(c.parts.iter().map(|p| (p.name.as_str(), p.title.as_str(), p.source.as_str())), 12);
        sound(c.boards.iter().map(|b| (b.name.as_str(), b.title.as_str(), b.source.as_str())), 3);
        sound(c.chips.iter().map(|b| (b.name.as_str(), b.title.as_str(), b.source.as_str())), 1);
        sound(c.coats.iter().map(|r| (r.name.as_str(), r.title.as_str(), r.source.as_str())), 12);
        for p in &c.parts {
            assert_eq!(p.kind == PartKind::Speaker, p.cone_mm > 0.0 && p.chamber_cm3 > 0.0, "{p:?}");
            assert!(p.over_mm < 0.1 * p.size_mm[0].max(5.0) && p.wires > 0, "{p:?}");
        }
        for m in &c.materials {
            let [usual, low, high] = m.density_g_cm3;
            assert!(low <= usual && usual <= high && low > 0.9 && high < 1.4, "{m:?}");
        }
        for s in &c.strips {
            assert!(s.pixel_mm < s.pitch_mm && s.pixel_mm <= s.crown_mm && s.crown_mm <= s.width_mm[0], "{s:?}");
            assert!(s.board_mm < s.height_mm[0] && s.height_mm[0] < 4.0, "{s:?}");
        }
        for b in &c.bars {
            assert!(b.size_mm[0] <= b.size_mm[1] && b.tolerance_mm < 0.1 * b.size_mm[1], "{b:?}");
            assert!(!b.round || b.size_mm[0] == b.size_mm[1], "{b:?}");
        }
        for PrinterRow { printer: p, .. } in &c.printers {
            assert!(p.layer_mm <= 0.4 && p.margin_mm * 2.0 < 0.2 * p.bed_mm[0], "{p:?}");
            // Flow of a bead at its mean speed, against the ceiling of 10 mm3/s that filament guides give for ABS.
            assert!(p.layer_mm * p.bead_mm * p.speed_mm_s <= 10.0, "{p:?}");
            assert_eq!(p.process == Process::Resin, p.speed_mm_s == 0.0, "{p:?}");
            assert!(p.process == Process::Resin || p.travel_mm_s >= p.speed_mm_s, "{p:?}");
            assert!(p.spacing_mm > 0.0 && p.pace[1] <= p.pace[0] && p.pace[0] <= p.pace[2], "{p:?}");
        }
    }

    #[test]
    fn values_that_others_publish() {
        let c = Catalogue::built_in();
        let pitch = |name: &str| c.strips.iter().find(|s| s.name == name).map(|s| s.pitch_mm);
        // 60 and 144 pixels to the metre.
        assert!((pitch("strip-60").unwrap() * 60.0 - 1000.0).abs() < 1e-9);
        assert!((pitch("strip-144").unwrap() * 144.0 - 1000.0).abs() < 1e-9);
        let bar = |name: &str| c.bars.iter().find(|b| b.name == name).unwrap();
        // Pultruded-profile tolerance pages: a 10 mm glass-fibre rod may be 0.20 mm more or less.
        assert_eq!((bar("round-glass-10").size_mm, bar("round-glass-10").tolerance_mm), ([10.0, 10.0], 0.2));
        // Aluminium Association: 6061 weighs 2.70 g/cm3.
        assert_eq!(bar("flat-aluminium-12x3").density_g_cm3, 2.7);
        assert_eq!(bar("flat-aluminium-12x3").size_mm, [3.0, 12.0]);
    }

    /// A cell's name gives its bare size: two figures for the diameter, three for tenths of its length, in mm.
    #[test]
    fn cells_are_as_large_as_their_names_say() {
        for row in Catalogue::built_in().parts.iter().filter(|p| p.kind == PartKind::Cell) {
            let figures: f64 = row.name.trim_start_matches("cell-").parse().unwrap();
            let (bare_mm, bare_long_mm) = ((figures / 1000.0).floor(), (figures % 1000.0) / 10.0);
            let [length, width, thickness] = row.size_mm;
            assert!(width == thickness && (0.0..1.0).contains(&(width - bare_mm)), "{row:?}");
            assert!((0.0..6.0).contains(&(length - bare_long_mm)), "{row:?}");
        }
    }

    #[test]
    fn a_row_without_a_source_is_refused() {
        let text = "[bar.stick]\ntitle = \"Stick of wood\"\ndiameter = \"8 mm\"\ntolerance = \"0.2 mm\"\ndensity = \"0.6 g/cm3\"\nreflect = \"50 %\"\n\
            stiffness = \"10 GPa\"\nshear = \"0.7 GPa\"\nstrength = \"60 MPa\"\nstrength-spread = \"30 %\"\nsoftens = \"120 C\"\nconducts = 0.15\n";
        let said = list(text, "bar", rows::bar).unwrap_err();
        assert_eq!(said.0.len(), 1);
        assert_eq!((said.0[0].key.as_str(), said.0[0].message.as_str()), ("bar.stick.source", "this key is missing"));
    }
}
