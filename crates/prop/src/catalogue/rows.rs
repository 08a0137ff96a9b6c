//! Reading rows: the same keys in the built-in catalogue and in a project that adds or changes one.

use super::optics::{SHARE, shine};
use super::{
    Bar, Catalogue, Material, Origin, Origins, PartKind, PartRow, Printer, PrinterRow, Process, Strip, Supply,
};
use crate::fields::{Field, Fields, nearest_help};
use crate::quantity::{Quantity, Wanted};

/// A row that can be found by its name.
pub(crate) trait Named {
    /// Name in the catalogue.
    fn name(&self) -> &str;
}

macro_rules! named {
    ($($row:ty => $($part:ident).+),*) => { $(impl Named for $row { fn name(&self) -> &str { &self.$($part).+ } })* };
}
named!(Material => name, Strip => name, Bar => name, PrinterRow => printer.name, PartRow => name);

/// What a row must say for itself and what it may take over.
pub(crate) enum Standing<'r, R> {
    /// A row of the built-in catalogue: everything must be there.
    BuiltIn,
    /// A row of the project, over a row of the catalogue if it names one.
    Own(Option<&'r R>),
    /// A row of the project whose kind is not known: this one stands in for it, so that the keys which are there can
    /// still be looked at, each for itself.
    Astray(&'r R),
}

impl<'r, R> Standing<'r, R> {
    pub(super) fn base(&self) -> Option<&'r R> {
        match self {
            Standing::BuiltIn => None,
            Standing::Own(base) => *base,
            Standing::Astray(base) => Some(base),
        }
    }

    /// Whether values may be held against each other.
    pub(super) fn known(&self) -> bool {
        !matches!(self, Standing::Astray(_))
    }
}

/// Keys that every row has: title and source.
pub(super) fn title_and_source<R>(
    row: &mut Fields<'_>,
    standing: &Standing<'_, R>,
    title: impl Fn(&R) -> &str,
) -> (Option<String>, Option<String>) {
    let name = row.name.clone();
    let (title, source) = match standing {
        Standing::BuiltIn => (None, None),
        Standing::Own(base) => (Some(base.map_or(name.as_str(), title)), Some("the project file")),
        Standing::Astray(_) => (Some(name.as_str()), Some("the project file")),
    };
    (row.text("title", title), row.text("source", source))
}

const PROCESSES: [(&str, Process); 2] = [("filament", Process::Filament), ("resin", Process::Resin)];
pub(super) const DENSITY: Wanted = Wanted::of(Quantity::Density, 0.1, 12.0, "1.04 g/cm3");

/// How far a spool's density lies from the maker's own figure when no range is given. Common practice, no source.
const DENSITY_SPREAD: f64 = 0.03;

pub(crate) fn material(mut row: Fields<'_>, standing: Standing<'_, Material>) -> Option<Material> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |m| &m.title);
    let process = row.choice("process", &PROCESSES, base.map(|m| m.process));
    let own_density = row.get("density");
    let density = row.quantity("density", &DENSITY, base.map(|m| m.density_g_cm3[0]));
    let range = match (row.get("density-range"), density) {
        (Some(field), Some(usual)) => field.range(&DENSITY).and_then(|[low, high]| {
            if (low..=high).contains(&usual) {
                Some([usual, low, high])
            } else {
                field.error("the density lies outside its own range", "widen the range, or correct the density")
            }
        }),
        (None, Some(usual)) => match base {
            Some(base) if own_density.is_none() => Some(base.density_g_cm3),
            _ => Some([usual, usual * (1.0 - DENSITY_SPREAD), usual * (1.0 + DENSITY_SPREAD)]),
        },
        (_, None) => None,
    };
    let supply = process.and_then(|process| supply(&mut row, process, base.map(|m| m.supply)));
    let optics = super::optics::optics(&mut row, &standing, |m| &m.optics);
    // Resin has no beads: the key is unknown there.
    let whole_beads = match process {
        Some(Process::Resin) => Some(false),
        _ => row.flag("wall-beads", base.is_some_and(|m| m.whole_beads)),
    };
    let plastic = super::finishing::plastic(&mut row, base.map(|m| (m.plastic, m.solvent.clone())));
    let holding = super::holding::of_material(&mut row, &standing);
    let name = row.name.clone();
    row.finish();
    let (plastic, solvent) = plastic?;
    Some(Material {
        name,
        title: title?,
        process: process?,
        density_g_cm3: range?,
        supply: supply?,
        optics: optics?,
        whole_beads: whole_beads?,
        plastic,
        solvent,
        holding: holding?,
        source: source?,
    })
}

/// A spool of filament or a bottle of resin; a project's own material comes in the usual ones.
fn supply(row: &mut Fields<'_>, process: Process, base: Option<Supply>) -> Option<Supply> {
    const SPOOL: Wanted = Wanted::of(Quantity::Mass, 10.0, 50_000.0, "1 kg");
    const DIAMETER: Wanted = Wanted::length(1.0, 5.0, "1.75 mm");
    const BOTTLE: Wanted = Wanted::of(Quantity::Volume, 10.0, 50_000.0, "1 l");
    // The usual sizes. Common practice, no source.
    let (mut mass_g, mut diameter_mm, mut volume_ml) = (1000.0, 1.75, 1000.0);
    match base {
        Some(Supply::Spool { mass_g: m, diameter_mm: d }) => (mass_g, diameter_mm) = (m, d),
        Some(Supply::Bottle { volume_ml: v }) => volume_ml = v,
        None => {}
    }
    match process {
        Process::Filament => {
            let mass = row.quantity("spool", &SPOOL, Some(mass_g));
            let diameter = row.quantity("diameter", &DIAMETER, Some(diameter_mm));
            Some(Supply::Spool { mass_g: mass?, diameter_mm: diameter? })
        }
        Process::Resin => Some(Supply::Bottle { volume_ml: row.quantity("bottle", &BOTTLE, Some(volume_ml))? }),
    }
}

pub(crate) fn strip(mut row: Fields<'_>, standing: Standing<'_, Strip>) -> Option<Strip> {
    const PITCH: Wanted = Wanted::length(2.0, 200.0, "1000/60 mm");
    const WIDTH: Wanted = Wanted::length(1.0, 40.0, "10 mm");
    const OVER: Wanted = Wanted::length(0.0, 3.0, "0.3 mm");
    const BOARD: Wanted = Wanted::length(0.05, 3.0, "0.3 mm");
    const HEIGHT: Wanted = Wanted::length(0.2, 10.0, "2 mm");
    const PIXEL: Wanted = Wanted::length(0.5, 10.0, "5 mm");
    const BUMP: Wanted = Wanted::length(0.0, 10.0, "1.5 mm");
    const MASS: Wanted = Wanted::of(Quantity::MassPerLength, 1.0, 500.0, "25 g/m");
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |s| &s.title);
    let pitch = row.quantity("pitch", &PITCH, base.map(|s| s.pitch_mm));
    let width = row.quantity("width", &WIDTH, base.map(|s| s.width_mm[0]));
    let width_over = row.quantity("width-over", &OVER, base.map(|s| s.width_mm[1]));
    let board = row.quantity("board", &BOARD, base.map(|s| s.board_mm));
    let height = row.quantity("height", &HEIGHT, base.map(|s| s.height_mm[0]));
    let height_over = row.quantity("height-over", &OVER, base.map(|s| s.height_mm[1]));
    let pixel = row.quantity("pixel", &PIXEL, base.map(|s| s.pixel_mm));
    let bump = row.quantity("bump", &BUMP, base.map(|s| s.bump_mm));
    let crown = row.quantity("crown", &WIDTH, base.map(|s| s.crown_mm));
    let mass = row.quantity("mass", &MASS, base.map(|s| s.mass_g_m));
    let shine = shine(&mut row, base.map(|s| s.shine));
    if let (Some(width), Some(crown), Some(pixel)) = (width, crown, pixel)
        && standing.known()
        && (crown > width || pixel > crown)
    {
        let message =
            format!("the crown ({crown} mm) must lie between the pixel ({pixel} mm) and the width ({width} mm)");
        row.error(message, "measure the strip's middle that bumps and pixels take up");
    }
    if let (Some(board), Some(height)) = (board, height)
        && standing.known()
        && height < board
    {
        let message = format!("the height ({height} mm) is less than the board ({board} mm)");
        row.error(message, "measure the height from the board's back to the face that shines");
    }
    let name = row.name.clone();
    row.finish();
    Some(Strip {
        name,
        title: title?,
        pitch_mm: pitch?,
        width_mm: [width?, width_over?],
        board_mm: board?,
        height_mm: [height?, height_over?],
        pixel_mm: pixel?,
        bump_mm: bump?,
        crown_mm: crown?,
        mass_g_m: mass?,
        shine: shine?,
        source: source?,
    })
}

/// Ranges of a bar's measures, shared with the caliper readings in `[spine]`.
pub(crate) const BAR_SIDE: Wanted = Wanted::length(0.3, 60.0, "3 mm");
/// Range of a bar's tolerance.
pub(crate) const BAR_TOLERANCE: Wanted = Wanted::length(0.0, 3.0, "0.1 mm");

/// Reflectance of a bar that the project does not describe: neither bright nor black. (Our choice.)
const DULL: f64 = 0.4;

pub(crate) fn bar(mut row: Fields<'_>, standing: Standing<'_, Bar>) -> Option<Bar> {
    let base = standing.base();
    let (title, source) = title_and_source(&mut row, &standing, |b| &b.title);
    let diameter = row.get("diameter");
    let flat = [row.get("thickness"), row.get("height")];
    let round = diameter.is_some() || (base.is_some_and(|b| b.round) && flat.iter().all(Option::is_none));
    let size = if round {
        for field in flat.iter().flatten() {
            field.error::<()>("a round bar has a diameter only", "leave out either this or the diameter");
        }
        row.quantity("diameter", &BAR_SIDE, base.filter(|b| b.round).map(|b| b.size_mm[0])).map(|d| [d, d])
    } else {
        let flat_base = base.filter(|b| !b.round);
        let thickness = row.quantity("thickness", &BAR_SIDE, flat_base.map(|b| b.size_mm[0]));
        let height = row.quantity("height", &BAR_SIDE, flat_base.map(|b| b.size_mm[1]));
        thickness.zip(height).map(|(t, h)| [t, h])
    };
    let tolerance = row.quantity("tolerance", &BAR_TOLERANCE, base.map(|b| b.tolerance_mm));
    let density = row.quantity("density", &DENSITY, base.map(|b| b.density_g_cm3));
    let usual = if matches!(standing, Standing::BuiltIn) { None } else { Some(base.map_or(DULL, |b| b.reflect)) };
    let reflect = row.quantity("reflect", &SHARE, usual);
    let bore = row.quantity("bore", &super::holding::BORE, Some(base.map_or(0.0, |b| b.bore_mm)));
    let metal = row.flag("metal", base.is_some_and(|b| b.metal));
    let wood = row.flag("wood", base.is_some_and(|b| b.wood));
    let holding = super::holding::of_bar(&mut row, &standing);
    if let (Some(bore), Some([thickness, _])) = (bore, size)
        && standing.known()
        && bore > 0.0
        && (!round || bore >= thickness)
    {
        let message = format!("a bore of {bore} mm leaves nothing of {thickness} mm");
        row.error_at("bore", message, "only a round tube has a bore, and it is less than the diameter");
    }
    let name = row.name.clone();
    row.finish();
    Some(Bar {
        name,
        title: title?,
        size_mm: size?,
        round,
        tolerance_mm: tolerance?,
        density_g_cm3: density?,
        reflect: reflect?,
        bore_mm: bore?,
        metal: metal?,
        wood: wood?,
        holding: holding?,
        source: source?,
    })
}

pub(crate) fn printer(mut row: Fields<'_>, standing: Standing<'_, PrinterRow>) -> Option<PrinterRow> {
    const BED: Wanted = Wanted::length(40.0, 2000.0, "220 mm");
    const MARGIN: Wanted = Wanted::length(0.0, 50.0, "4 mm");
    const LAYER: Wanted = Wanted::length(0.01, 1.0, "0.2 mm");
    const BEAD: Wanted = Wanted::length(0.01, 3.0, "0.45 mm");
    const SPEED: Wanted = Wanted::of(Quantity::Speed, 1.0, 1000.0, "45 mm/s");
    const LAYER_TIME: Wanted = Wanted::of(Quantity::Time, 0.0, 600.0, "10 s");
    const START: Wanted = Wanted::of(Quantity::Time, 0.0, 7200.0, "8 min");
    const OVERHANG: Wanted = Wanted::of(Quantity::Angle, 0.0, 90.0, "45 deg");
    const GAP: Wanted = Wanted::length(0.0, 2.0, "0.2 mm");
    const PRESS_GAP: Wanted = Wanted::length(-0.5, 2.0, "0 mm");
    const SPACING: Wanted = Wanted::length(0.5, 50.0, "5 mm");
    const BRIM: Wanted = Wanted::length(0.0, 20.0, "4 mm");
    let base = standing.base().map(|row| &row.printer);
    let (title, source) = title_and_source(&mut row, &standing, |p| &p.title);
    let process = match base {
        Some(base) => Some(base.process),
        None => row.choice("process", &PROCESSES, None),
    };
    let bed = match (row.get("bed"), base) {
        (Some(field), _) => field.quantities(&BED),
        (None, Some(base)) => Some(base.bed_mm),
        (None, None) => row.need("bed", "bed = [\"220 mm\", \"220 mm\", \"250 mm\"]").and(None),
    };
    let margin = row.quantity("margin", &MARGIN, base.map(|p| p.margin_mm));
    let layer = row.quantity("layer", &LAYER, base.map(|p| p.layer_mm));
    let bead = row.quantity("bead", &BEAD, base.map(|p| p.bead_mm));
    // Resin has no nozzle to move: the key is unknown there and the value never used.
    let speed = match process {
        Some(Process::Resin) => Some(0.0),
        _ => row.quantity("speed", &SPEED, base.map(|p| p.speed_mm_s)),
    };
    let travel = match process {
        Some(Process::Resin) => Some(0.0),
        _ => row.quantity("travel", &SPEED, base.map(|p| p.travel_mm_s)),
    };
    let layer_time = row.quantity("least-layer-time", &LAYER_TIME, base.map(|p| p.layer_time_s));
    let start_time = row.quantity("start-time", &START, base.map(|p| p.start_time_s));
    let overhang = row.quantity("overhang", &OVERHANG, base.map(|p| p.overhang_deg));
    let origin =
        |row: &Fields<'_>, key: &str| if base.is_some() && row.has(key) { Origin::Project } else { Origin::Catalogue };
    let origins = Origins {
        slide_gap: origin(&row, "slide-gap"),
        glue_gap: origin(&row, "glue-gap"),
        slot_loss: origin(&row, "slot-loss"),
        pace: origin(&row, "pace"),
        hole_loss: if row.has("hole-loss") { origin(&row, "hole-loss") } else { origin(&row, "slot-loss") },
        press_gap: origin(&row, "press-gap"),
    };
    let slide_gap = match (row.get("slide-gap"), base) {
        (Some(field), _) => field.range(&GAP),
        (None, Some(base)) => Some(base.slide_gap_mm),
        (None, None) => row.need("slide-gap", "slide-gap = [\"0.2 mm\", \"0.3 mm\"]").and(None),
    };
    let glue_gap = row.quantity("glue-gap", &GAP, base.map(|p| p.glue_gap_mm));
    let own_slot_loss = row.has("slot-loss");
    let slot_loss = row.quantity("slot-loss", &GAP, base.map(|p| p.slot_loss_mm));
    // Who knows only what a slot loses takes a hole to lose as much.
    let usual_hole_loss = base.filter(|_| !own_slot_loss).map(|p| p.hole_loss_mm).or(slot_loss);
    let hole_loss = row.optional_quantity("hole-loss", &GAP).map(|own| own.or(usual_hole_loss));
    let press_gap =
        row.optional_quantity("press-gap", &PRESS_GAP).map(|own| own.or(base.map(|p| p.press_gap_mm)).unwrap_or(0.0));
    let spacing = row.quantity("spacing", &SPACING, base.map(|p| p.spacing_mm));
    let brim = row.quantity("brim", &BRIM, base.map(|p| p.brim_mm));
    let pace = pace(&mut row, process.unwrap_or(Process::Filament), base.map(|p| p.pace));
    if let (Some(bed), Some(margin)) = (bed, margin)
        && standing.known()
        && (bed[0].min(bed[1]) <= 2.0 * margin || bed[2] <= margin)
    {
        row.error(format!("a margin of {margin} mm leaves nothing of the bed"), "make the margin smaller");
    }
    if let (Some(layer), Some(bead), Some(Process::Filament)) = (layer, bead, process)
        && standing.known()
        && layer > bead
    {
        let message = format!("layers of {layer} mm are thicker than the bead is wide ({bead} mm)");
        row.error(message, "make the layer thinner or the bead wider");
    }
    let name = row.name.clone();
    row.finish();
    let printer = Printer {
        name,
        process: process?,
        bed_mm: bed?,
        margin_mm: margin?,
        layer_mm: layer?,
        bead_mm: bead?,
        speed_mm_s: speed?,
        layer_time_s: layer_time?,
        start_time_s: start_time?,
        overhang_deg: overhang?,
        slide_gap_mm: slide_gap?,
        glue_gap_mm: glue_gap?,
        slot_loss_mm: slot_loss?,
        spacing_mm: spacing?,
        brim_mm: brim?,
        travel_mm_s: travel?,
        pace: pace?,
        hole_loss_mm: hole_loss??,
        press_gap_mm: press_gap?,
        origins,
    };
    Some(PrinterRow { title: title?, printer, source: source? })
}

/// How far a time computed from the layers is off, as factors: usual, least, most. Corners and short lines slow a
/// filament printer by its own firmware's rules; a resin printer keeps its layer time. Common practice, no source.
const PACES: [(Process, [f64; 3]); 2] = [(Process::Filament, [1.0, 0.8, 1.25]), (Process::Resin, [1.0, 0.95, 1.1])];

fn pace(row: &mut Fields<'_>, process: Process, base: Option<[f64; 3]>) -> Option<[f64; 3]> {
    const PACE: Wanted = Wanted::of(Quantity::Share, 0.1, 10.0, "100 %");
    let Some(field) = row.get("pace") else {
        return base.or_else(|| PACES.iter().find(|(p, _)| *p == process).map(|(_, pace)| *pace));
    };
    let [usual, least, most] = field.quantities(&PACE)?;
    if least <= usual && usual <= most {
        return Some([usual, least, most]);
    }
    field.error(
        "the usual pace lies outside its own range",
        "write the usual one, the least and the most, in this order",
    )
}

const PART_KINDS: [(&str, PartKind); 10] = [
    ("cell", PartKind::Cell),
    ("controller", PartKind::Controller),
    ("sensor", PartKind::Sensor),
    ("amplifier", PartKind::Amplifier),
    ("converter", PartKind::Converter),
    ("speaker", PartKind::Speaker),
    ("switch", PartKind::Switch),
    ("charge-port", PartKind::ChargePort),
    ("program-port", PartKind::ProgramPort),
    ("fuse", PartKind::Fuse),
];

/// Reads a part's row. In a project the row is called by `like` (a row of the catalogue it starts from).
pub(crate) fn part(mut row: Fields<'_>, standing: Standing<'_, PartRow>) -> Option<PartRow> {
    let part = part_keys(&mut row, &standing);
    row.finish();
    part
}

/// The keys of a part's row, for a table that has others besides.
pub(crate) fn part_keys(row: &mut Fields<'_>, standing: &Standing<'_, PartRow>) -> Option<PartRow> {
    const SHAPES: [(&str, bool); 2] = [("box", false), ("round", true)];
    const SIDE: Wanted = Wanted::length(1.0, 400.0, "20 mm");
    const OVER: Wanted = Wanted::length(0.0, 5.0, "0.3 mm");
    const ROOM: Wanted = Wanted::length(0.0, 60.0, "6 mm");
    const ASIDE: Wanted = Wanted::length(-200.0, 200.0, "0 mm");
    const BEND: Wanted = Wanted::length(0.5, 60.0, "4 mm");
    const MASS: Wanted = Wanted::of(Quantity::Mass, 0.1, 5000.0, "48 g");
    const CHAMBER: Wanted = Wanted::of(Quantity::Volume, 0.5, 500.0, "10 cm3");
    let base = standing.base();
    let (title, source) = title_and_source(row, standing, |p| &p.title);
    let kind = match base {
        Some(base) => Some(base.kind),
        None => row.choice("kind", &PART_KINDS, None),
    };
    let round = row.choice("shape", &SHAPES, base.map(|p| p.round));
    let size_field = row.get("size");
    let size = match (&size_field, base) {
        (Some(field), _) => field.quantities(&SIDE),
        (None, Some(base)) => Some(base.size_mm),
        (None, None) => row.need("size", "size = [\"20 mm\", \"15 mm\", \"4 mm\"]").and(None),
    };
    if let (Some(true), Some([_, width, thickness]), Some(field)) = (round, size, &size_field)
        && width != thickness
    {
        field.error::<()>(
            format!("a round part is as wide as it is thick, not {width} and {thickness} mm"),
            "write its diameter twice, or shape = \"box\"",
        );
    }
    let over = row.quantity("over", &OVER, base.map(|p| p.over_mm));
    let room = row.quantity("room", &ROOM, base.map(|p| p.room_mm));
    let exit_field = row.get("exit");
    let exit = match (&exit_field, base) {
        (Some(field), _) => field.quantities(&ASIDE),
        (None, base) => Some(base.map_or([0.0; 2], |p| p.exit_mm)),
    };
    if let (Some([across, up]), Some([_, width, thickness]), Some(round)) = (exit, size, round) {
        let off = if round {
            (across.hypot(up) > width / 2.0).then(|| format!("a circle {width} mm wide"))
        } else {
            (across.abs() > width / 2.0 || up.abs() > thickness / 2.0).then(|| format!("{width} by {thickness} mm"))
        };
        if let (Some(face), true) = (off, standing.known()) {
            let message = format!("wires leave {across} mm aside and {up} mm up, which is off its end of {face}");
            let help =
                "count from the middle of the end, across and up; its length runs towards the face that they leave";
            match &exit_field {
                Some(field) => {
                    field.error::<()>(message, help);
                }
                None => row.error(message, help),
            }
        }
    }
    let flange = match (row.get("flange"), base) {
        (Some(field), _) => field.quantities(&SIDE).map(Some),
        (None, base) => Some(base.and_then(|p| p.flange_mm)),
    };
    let bend = row.quantity("bend", &BEND, base.map(|p| p.bend_mm));
    let wires = match (row.get("wires"), base) {
        (Some(field), _) => field.whole(1..=40),
        (None, Some(base)) => Some(base.wires),
        (None, None) => row.need("wires", "wires = 2").and(None),
    };
    let sounds = kind == Some(PartKind::Speaker);
    let cone = if sounds { row.quantity("cone", &SIDE, base.map(|p| p.cone_mm)) } else { Some(0.0) };
    let chamber = if sounds { row.quantity("chamber", &CHAMBER, base.map(|p| p.chamber_cm3)) } else { Some(0.0) };
    let mass = row.quantity("mass", &MASS, base.map(|p| p.mass_g));
    let electrics = kind.map(|kind| super::electrics::read(row, kind, base.map(|p| &p.electrics)));
    Some(PartRow {
        name: row.name.clone(),
        title: title?,
        kind: kind?,
        round: round?,
        size_mm: size?,
        over_mm: over?,
        room_mm: room?,
        exit_mm: exit?,
        flange_mm: flange?,
        bend_mm: bend?,
        wires: wires?,
        cone_mm: cone?,
        chamber_cm3: chamber?,
        mass_g: mass?,
        electrics: electrics??,
        source: source?,
    })
}

/// The catalogue with the project's own rows in it.
pub(crate) struct Stock {
    /// All rows that could be read.
    pub(crate) rows: Catalogue,
    /// Names of own rows that could not be read: looking one up is no second mistake.
    broken: Vec<String>,
    /// Whether the project plans its work.
    pub(crate) planned: bool,
}

impl Stock {
    pub(crate) fn new(rows: Catalogue) -> Stock {
        Stock { rows, broken: Vec::new(), planned: false }
    }

    /// Reads a project's own row of the list that `list` picks, with `read`, and puts it in the place of the row of the
    /// same name or at the end.
    pub(crate) fn add<'t, R: Named + Clone>(
        &mut self,
        mut fields: Fields<'t>,
        list: impl Fn(&mut Catalogue) -> &mut Vec<R>,
        read: impl Fn(Fields<'t>, Standing<'_, R>) -> Option<R>,
    ) {
        let name = fields.name.clone();
        let rows = list(&mut self.rows);
        let base = match fields.get("kind") {
            Some(kind) => find(&kind, rows, &self.broken).map(Option::<&R>::cloned),
            None => Some(rows.iter().find(|row| row.name() == name).cloned()),
        };
        let row = match &base {
            Some(base) => read(fields, Standing::Own(base.as_ref())),
            None => rows.first().and_then(|any| read(fields, Standing::Astray(any))).and(None),
        };
        match (row, rows.iter().position(|row| row.name() == name)) {
            (Some(row), Some(at)) => rows[at] = row,
            (Some(row), None) => rows.push(row),
            (None, _) => self.broken.push(name),
        }
    }

    /// The row that `field` names. The inner `None` is an own row whose mistake has been reported with the row.
    pub(crate) fn find<'r, R: Named>(&'r self, field: &Field<'_>, rows: &'r [R]) -> Option<&'r R> {
        find(field, rows, &self.broken).flatten()
    }
}

#[expect(clippy::option_option, reason = "a row that is broken and a name that is wrong are two things here")]
fn find<'r, R: Named>(field: &Field<'_>, rows: &'r [R], broken: &[String]) -> Option<Option<&'r R>> {
    let name = field.text()?;
    if broken.iter().any(|broken| broken == name) {
        return Some(None);
    }
    let found = rows.iter().find(|row| row.name() == name);
    if found.is_none() {
        let help = nearest_help(name, rows.iter().map(Named::name), "the catalogue has");
        return field.error(format!("the catalogue has no {name:?}"), help);
    }
    Some(found)
}
