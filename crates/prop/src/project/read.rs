//! From the project's text to the checked project.

use super::admission::read_admission;
use super::conduct::read_conduct;
use super::cost::read_cost;
use super::covers::read_cover;
use super::cuts::{each, list, read_cuts};
use super::finish::read_finish;
use super::imprint::read_imprint;
use super::joints::read_joints;
use super::parts::read_parts;
use super::plan::read_plan;
use super::plates::read_plates;
use super::power::read_power;
use super::strength::read_strength;
use super::wall::read_wall;
use super::windows::{read_coats, read_windows};
use super::{
    Advise, BodyRules, Glow, Levels, LightRules, Project, ShapeRules, Show, SpineRules, defaults, role_by_name,
};
use crate::catalogue::optics::{self, SHARE};
use crate::catalogue::rows::{self, Standing, Stock};
use crate::catalogue::{Catalogue, Material, Printer, Process};
use crate::catalogue::{boards, finishing, hardware, holding, seasons};
use crate::cover::CoverRules;
use crate::diagnostic::Diagnostics;
use crate::fields::{Field, Fields, Report, document, nearest_help};
use crate::outcome::{JointKind, Role};
use crate::quantity::{Quantity, Wanted};

/// The longest prop: no doorway, hall or helper takes more.
const LONGEST_MM: f64 = 5000.0;
/// A place along the prop.
pub(super) const STATION: Wanted = Wanted::length(0.0, LONGEST_MM, "300 mm");

/// Reads a project file. Every mistake is reported, in the order of its place.
///
/// A missing `shape.length` is no mistake here; nor is a body that the shape does not have, or a shape file that is not
/// there, since neither shows in the text: see [`super::shape_file`] and [`super::missing_file`].
///
/// # Errors
/// All mistakes of the file, at least one.
pub fn parse(text: &str, catalogue: &Catalogue) -> Result<Project, Diagnostics> {
    let report = Report::default();
    let table = document(text, &report);
    let project = table.as_ref().and_then(|table| {
        let mut root = Fields::root(table.get_ref(), &report);
        let project = read_project(&mut root, catalogue);
        root.finish();
        project
    });
    match project {
        Some(project) if report.is_empty() => Ok(project),
        _ => Err(report.into_sorted()),
    }
}

fn read_project(root: &mut Fields<'_>, catalogue: &Catalogue) -> Option<Project> {
    let stock = read_stock(root, catalogue);
    let prop = read_prop(root);
    let wearer = read_wearer(root);
    let shape = read_shape(root, wearer.and_then(|[height, _]| height));
    let printers = read_printers(root, &stock);
    let bodies = read_bodies(root, &stock, &printers);
    let light = read_light(root, &stock);
    let spine = read_spine(root, &stock);
    let wires = read_wires(root);
    let windows = read_windows(root, &stock);
    let cuts = read_cuts(root);
    let joints = read_joints(root, &stock);
    let parts = read_parts(root, &stock);
    let plates = read_plates(root, &printers.names);
    let strength = read_strength(root, &stock);
    let conduct = read_conduct(root, &stock);
    let power = read_power(root);
    let plan = read_plan(root, &stock);
    let joint_names = joints.iter().flatten().map(|j| j.name.clone());
    let names: Vec<String> = joint_names.chain(parts.iter().flatten().map(|p| p.name.clone())).collect();
    let admission = read_admission(root, &stock, &names);
    let finish = read_finish(root, &stock);
    let cost = read_cost(root, &stock);
    let imprint = read_imprint(root);
    let printers = printers.rows?;
    let unlisted = unlisted(&printers, &stock)?;
    let [wearer_mm, wearer_hand_mm] = wearer?;
    let (name, inches) = prop?;
    let (wire_bundle_mm, wire_reflect) = wires?;
    Some(Project {
        name,
        inches,
        wearer_mm,
        wearer_hand_mm,
        shape: shape?,
        bodies: bodies?,
        unlisted,
        light: light?,
        spine: spine?,
        wire_bundle_mm,
        wire_reflect,
        printers,
        cuts: cuts?,
        plates: plates?,
        joints: joints?,
        rods: stock.rows.rods,
        parts: parts?,
        windows: windows?,
        strength: strength?,
        conduct: conduct?,
        power: power?,
        admission: admission?,
        plan: plan?,
        finish: finish?,
        cost: cost?,
        imprint: imprint?,
        learnt: Vec::new(),
    })
}

/// The catalogue with the project's own rows in it.
fn read_stock(root: &mut Fields<'_>, catalogue: &Catalogue) -> Stock {
    let mut stock = Stock::new(catalogue.clone());
    stock.planned = root.has("plan");
    for row in root.named_tables("material") {
        stock.add(row, |c| &mut c.materials, rows::material);
    }
    for row in root.named_tables("strip") {
        stock.add(row, |c| &mut c.strips, rows::strip);
    }
    for row in root.named_tables("bar") {
        stock.add(row, |c| &mut c.bars, rows::bar);
    }
    for row in root.named_tables("rod") {
        stock.add(row, |c| &mut c.rods, hardware::rod);
    }
    for row in root.named_tables("magnet") {
        stock.add(row, |c| &mut c.magnets, hardware::magnet);
    }
    for row in root.named_tables("insert") {
        stock.add(row, |c| &mut c.inserts, hardware::insert);
    }
    for row in root.named_tables("screw") {
        stock.add(row, |c| &mut c.screws, hardware::screw);
    }
    for row in root.named_tables("connector") {
        stock.add(row, |c| &mut c.connectors, hardware::connector);
    }
    for row in root.named_tables("glue") {
        stock.add(row, |c| &mut c.glues, holding::glue);
    }
    for row in root.named_tables("coat") {
        stock.add(row, |c| &mut c.coats, optics::coat);
    }
    for row in root.named_tables("filler") {
        stock.add(row, |c| &mut c.fillers, finishing::filler);
    }
    for row in root.named_tables("supply") {
        stock.add(row, |c| &mut c.supplies, finishing::supply);
    }
    for row in root.named_tables("season") {
        stock.add(row, |c| &mut c.seasons, seasons::season);
    }
    for row in root.named_tables("board") {
        stock.add(row, |c| &mut c.boards, boards::board);
    }
    for row in root.named_tables("chip") {
        stock.add(row, |c| &mut c.chips, boards::chip);
    }
    stock
}

fn read_prop(root: &mut Fields<'_>) -> Option<(String, bool)> {
    let mut prop = root.need("prop", "[prop], and below it name = \"Reed glaive\"")?.table()?;
    let name = prop.text("name", None);
    let inches = prop.flag("inches", false);
    prop.finish();
    Some((name?, inches?))
}

/// Height, and length of the hand.
fn read_wearer(root: &mut Fields<'_>) -> Option<[Option<f64>; 2]> {
    const HEIGHT: Wanted = Wanted::length(500.0, 2800.0, "168 cm");
    const HAND: Wanted = Wanted::length(80.0, 280.0, "185 mm");
    let Some(field) = root.get("wearer") else { return Some([None; 2]) };
    let mut wearer = field.table()?;
    let height = wearer.optional_quantity("height", &HEIGHT);
    let hand = wearer.optional_quantity("hand", &HAND);
    wearer.finish();
    Some([height?, hand?])
}

fn read_shape(root: &mut Fields<'_>, wearer_mm: Option<f64>) -> Option<ShapeRules> {
    const LENGTH: Wanted = Wanted::length(50.0, LONGEST_MM, "150 cm");
    const AXES: [(&str, usize); 3] = [("x", 0), ("y", 1), ("z", 2)];
    let mut shape = root.need("shape", "[shape], and below it file = \"shape/prop.3mf\"")?.table()?;
    let file = shape.text("file", None);
    let length = shape.optional_quantity("length", &LENGTH);
    let share = shape.optional_quantity("of-wearer", &Wanted::of(Quantity::Share, 0.05, 2.5, "88 %"));
    let length = match (length, share.flatten(), wearer_mm) {
        (Some(Some(_)), Some(_), _) => {
            let help = "keep `length`, or `of-wearer` to have it follow the wearer's height";
            shape.error_at("of-wearer", "these are two lengths".to_owned(), help);
            None
        }
        (Some(None), Some(_), None) => {
            let help = "add height = \"168 cm\" under [wearer]";
            shape.error_at("of-wearer", "nobody's height is known".to_owned(), help);
            None
        }
        (Some(None), Some(share), Some(height)) if !(LENGTH.least..=LENGTH.most).contains(&(share * height)) => {
            let message = format!("that is {:.0} mm for this wearer", share * height);
            shape.error_at("of-wearer", message, "a prop is 50 mm to 5 m long: take another share");
            None
        }
        (Some(None), Some(share), Some(height)) => Some(Some(share * height)),
        _ => length,
    };
    let axis = shape.optional("axis", |f| f.choice(&AXES));
    let tip_high = shape.optional("tip", |f| f.choice(&[("high", true), ("low", false)]));
    let thickness = shape.optional("thickness", |f| f.choice(&AXES));
    if let (Some(Some(axis)), Some(Some(thickness))) = (axis, thickness)
        && axis == thickness
    {
        let name = AXES[axis].0;
        shape.error_at(
            "thickness",
            format!("{name:?} is the long axis already"),
            "the thickness runs across the length: name another axis",
        );
    }
    let path = shape.optional("path", |f| read_path(&f));
    shape.finish();
    Some(ShapeRules {
        file: file?,
        length_mm: length?,
        axis: axis?,
        tip_high: tip_high?,
        thickness_axis: thickness?,
        path: path?,
    })
}

fn read_path(field: &Field<'_>) -> Option<Vec<[f64; 3]>> {
    const POINT: Wanted = Wanted::length(-LONGEST_MM, LONGEST_MM, "10 mm");
    let example = "[[\"0 mm\", \"0 mm\", \"0 mm\"], [\"900 mm\", \"20 mm\", \"0 mm\"]]";
    let items = field.items(example)?;
    if items.len() < 2 {
        return field
            .error("a path has at least two points", format!("list them from butt to tip, for example {example}"));
    }
    let points: Vec<Option<[f64; 3]>> = items.iter().map(|item| item.quantities(&POINT)).collect();
    let points = points.into_iter().collect::<Option<Vec<_>>>()?;
    for (item, pair) in items[1..].iter().zip(points.windows(2)) {
        if pair[0][0] >= pair[1][0] {
            let message = "this point lies no further along the prop than the one before";
            return item.error(message, "list the points from butt to tip: their first measure must grow");
        }
    }
    Some(points)
}

/// The printers of a project.
struct Printers {
    /// What they are called, in the order of the file, whether or not they could be read.
    names: Vec<String>,
    /// All of them in the same order; `None` when one could not be read.
    rows: Option<Vec<Printer>>,
}

fn read_printers(root: &mut Fields<'_>, stock: &Stock) -> Printers {
    let tables = root.named_tables("printer");
    if tables.is_empty() {
        let field = root.need("printer", "[printer.wide], and below it kind = \"filament-220\"");
        if let Some(field) = field.filter(Field::is_empty_table) {
            field.error::<()>(
                "there is no printer in it",
                "name it: [printer.wide], and below it kind = \"filament-220\"",
            );
        }
        return Printers { names: Vec::new(), rows: None };
    }
    let names = tables.iter().map(|table| table.name.clone()).collect();
    let printers: Vec<Option<Printer>> = tables
        .into_iter()
        .map(|mut table| {
            let kind = table.need("kind", "kind = \"filament-220\"");
            let row = match kind.and_then(|kind| stock.find(&kind, &stock.rows.printers)) {
                Some(found) => rows::printer(table, Standing::Own(Some(found))),
                None => rows::printer(table, Standing::Astray(stock.rows.printers.first()?)).and(None),
            };
            row.map(|row| row.printer)
        })
        .collect();
    Printers { names, rows: printers.into_iter().collect() }
}

const ROLES: [(&str, Role); 3] = [("lit", Role::Lit), ("plain", Role::Plain), ("cover", Role::Cover)];

fn read_bodies(root: &mut Fields<'_>, stock: &Stock, printers: &Printers) -> Option<Vec<BodyRules>> {
    let dark = !root.has("light");
    let mut names: Vec<String> = Vec::new();
    let mut bodies = Vec::new();
    for table in root.named_tables("body") {
        let lower = table.name.to_lowercase();
        if names.contains(&lower) {
            let help = "join the two tables, or give this one the name of its own body";
            table.error("there is a body of this name already above, but for capitals", help);
        }
        names.push(lower);
        bodies.push(read_body(table, stock, printers, dark));
    }
    bodies.into_iter().collect()
}

/// Reads one body; `dark` when there is no `[light]`.
fn read_body(mut body: Fields<'_>, stock: &Stock, printers: &Printers, dark: bool) -> Option<BodyRules> {
    const CAVITY: Wanted = Wanted::length(0.2, 100.0, "2 mm");
    const INFILL: Wanted = Wanted::of(Quantity::Share, 0.0, 1.0, "20 %");
    const GLOWS: [(&str, Glow); 3] = [("edges", Glow::Edges), ("faces", Glow::Faces), ("around", Glow::Around)];
    const JOINTS: [(&str, JointKind); 3] =
        [("collar", JointKind::Collar), ("pegs", JointKind::Pegs), ("faces", JointKind::Faces)];
    const SHOWN: [(&str, Show); 3] = [("both", Show::Both), ("+z", Show::Up), ("-z", Show::Down)];
    let name = body.name.clone();
    let role = body.choice("role", &ROLES, Some(role_by_name(&name)));
    let known_role = role.unwrap_or(Role::Plain);
    if dark && role == Some(Role::Lit) {
        let help = "add [light], and below it strip = \"strip-60\"; or write role = \"plain\" here";
        body.error("this body is lit, but there is no [light] table", help);
    }
    let printed = read_printed(&mut body, stock, printers);
    let process = printed.as_ref().map(|(material, _)| material.process);
    let able: Vec<&Printer> = match (&printers.rows, &printed) {
        (Some(rows), Some((_, able))) => able.iter().map(|&at| &rows[at]).collect(),
        _ => Vec::new(),
    };
    let wall = read_wall(&mut body, known_role, printed.as_ref().map(|(material, _)| material), &able);
    let least_cavity = body.quantity("least-cavity", &CAVITY, Some(defaults::LEAST_CAVITY_MM));
    let infill = body.quantity("infill", &INFILL, Some(defaults::INFILL));
    let glow = body.choice("glow", &GLOWS, Some(defaults::GLOW));
    let may_lie = body.flag("may-lie", defaults::may_lie(known_role));
    let joint = body.optional("joint", |f| f.choice(&JOINTS));
    let peg = body.optional("peg", |f| stock.find(&f, &stock.rows.rods));
    let show = body.choice("show", &SHOWN, Some(Show::Both));
    let cover = read_cover(&mut body, known_role, process);
    let coats = read_coats(&mut body, "coats", stock);
    let lining = read_coats(&mut body, "lining", stock);
    body.finish();
    let (material, printers) = printed?;
    let (wall_mm, graded) = wall?;
    Some(BodyRules {
        name,
        role: role?,
        material,
        wall_mm,
        graded,
        least_cavity_mm: least_cavity?,
        infill: infill?,
        glow: glow?,
        printers,
        may_lie: may_lie?,
        joint: joint?,
        peg: peg?.cloned(),
        show: show?,
        cover: cover?,
        coats: coats?,
        lining: lining?,
    })
}

/// The material of a body, with those of its printers that can print it.
fn read_printed(body: &mut Fields<'_>, stock: &Stock, printers: &Printers) -> Option<(Material, Vec<usize>)> {
    let material_field = body.get("material");
    let printers_field = body.get("printers");
    let asked = material_field.as_ref().map(|field| stock.find(field, &stock.rows.materials));
    let chosen = printers_field.as_ref().map(|field| read_choice(field, &printers.names));
    // What goes together can be said of printers that could be read only.
    let printers = printers.rows.as_deref()?;
    let chosen = chosen.unwrap_or_else(|| Some((0..printers.len()).collect()))?;
    let material = match asked {
        Some(asked) => asked?,
        None => usual_material(chosen.iter().map(|&at| &printers[at]), stock)
            .or_else(|| body.need("material", "material = \"...\"").and(None))?,
    };
    let (able, unable): (Vec<usize>, Vec<usize>) =
        chosen.into_iter().partition(|&at| printers[at].process == material.process);
    let wrong = unable.first().filter(|_| able.is_empty() || printers_field.is_some());
    match (wrong, material_field.or(printers_field)) {
        (Some(&at), Some(field)) => {
            let (name, printer) = (&material.name, &printers[at]);
            let (is, takes) = (process_word(material.process), process_word(printer.process));
            let message = format!("{name:?} is {is}, but the printer {:?} takes {takes}", printer.name);
            field.error(message, "name printers and a material that go together")
        }
        _ => Some((material.clone(), able)),
    }
}

/// The printers that a body names.
fn read_choice(field: &Field<'_>, printers: &[String]) -> Option<Vec<usize>> {
    let items = field.items("[\"wide\"]")?;
    if items.is_empty() {
        return field.error("no printer is named", "name one at least, or leave this key out to allow all");
    }
    if printers.is_empty() {
        // That there is none has been said.
        return None;
    }
    let mut chosen: Vec<usize> = Vec::new();
    let mut sound = true;
    for item in &items {
        let found = item.text().and_then(|name| {
            let at = printers.iter().position(|printer| printer == name);
            at.or_else(|| {
                let help = nearest_help(name, printers.iter().map(String::as_str), "this file has");
                item.error(format!("there is no [printer.{name}]"), help)
            })
        });
        match found {
            Some(at) if chosen.contains(&at) => {
                sound = item.error::<()>("this printer is named twice", "name it once").is_some();
            }
            Some(at) => chosen.push(at),
            None => sound = false,
        }
    }
    sound.then_some(chosen)
}

fn process_word(process: Process) -> &'static str {
    match process {
        Process::Filament => "filament",
        Process::Resin => "resin",
    }
}

/// The material taken when none is named: for filament if one of the printers takes it.
fn usual_material<'s>(mut printers: impl Iterator<Item = &'s Printer>, stock: &'s Stock) -> Option<&'s Material> {
    let filament = printers.any(|p| p.process == Process::Filament);
    let process = if filament { Process::Filament } else { Process::Resin };
    let of_process = |m: &&Material| m.process == process;
    let usual = stock.rows.materials.iter().find(|m| m.name == defaults::material(process)).filter(of_process);
    usual.or_else(|| stock.rows.materials.iter().find(of_process))
}

/// What holds for a body that has no table.
fn unlisted(printers: &[Printer], stock: &Stock) -> Option<BodyRules> {
    let material = usual_material(printers.iter(), stock)?.clone();
    let able = (0..printers.len()).filter(|&at| printers[at].process == material.process).collect();
    Some(BodyRules {
        name: String::new(),
        role: Role::Plain,
        material,
        wall_mm: defaults::wall_mm(Role::Plain, None),
        graded: None,
        least_cavity_mm: defaults::LEAST_CAVITY_MM,
        infill: defaults::INFILL,
        glow: defaults::GLOW,
        printers: able,
        may_lie: defaults::may_lie(Role::Plain),
        joint: None,
        peg: None,
        show: Show::Both,
        cover: CoverRules::default(),
        coats: Vec::new(),
        lining: Vec::new(),
    })
}

/// `from` and `to` of a table, in order.
fn read_span(table: &mut Fields<'_>) -> Option<(Option<f64>, Option<f64>)> {
    let from = table.optional_quantity("from", &STATION);
    let to = table.optional_quantity("to", &STATION);
    if let (Some(Some(from)), Some(Some(to))) = (from, to)
        && from >= to
    {
        let message = format!("this ends at {to} mm, before it begins at {from} mm");
        table.error_at("to", message, "stations count from the butt: make this larger than from");
    }
    Some((from?, to?))
}

#[expect(clippy::option_option, reason = "absent and unreadable are two things here")]
fn read_light(root: &mut Fields<'_>, stock: &Stock) -> Option<Option<LightRules>> {
    const TAPE: Wanted = Wanted::length(0.0, 2.0, "0.1 mm");
    const VIEWED: Wanted = Wanted::length(200.0, 100_000.0, "3 m");
    const NOISE: Wanted = Wanted::of(Quantity::Share, 0.002, 0.5, "2 %");
    let Some(field) = root.get("light") else { return Some(None) };
    let mut light = field.table()?;
    let strip = light.need("strip", "strip = \"strip-60\"").and_then(|f| stock.find(&f, &stock.rows.strips));
    let rows = light.get("rows").map_or(Some(defaults::ROWS), |f| f.whole(1..=6));
    let tape = light.quantity("tape", &TAPE, Some(defaults::TAPE_MM));
    let viewed = light.quantity("viewed-from", &VIEWED, Some(defaults::VIEWED_MM));
    let noise = light.quantity("noise", &NOISE, Some(defaults::NOISE));
    let levels =
        light.get("levels").map_or(Some(Levels::Full), |f| f.choice(&[("full", Levels::Full), ("even", Levels::Even)]));
    let follow = light.flag("follow", true);
    const ADVISE: [(&str, Advise); 3] =
        [("failed", Advise::Failed), ("unsure", Advise::Unsure), ("never", Advise::Never)];
    let advise = light.choice("advise", &ADVISE, Some(Advise::Failed));
    let span = read_span(&mut light);
    light.finish();
    let (from_mm, to_mm) = span?;
    Some(Some(LightRules {
        strip: strip?.clone(),
        rows: rows?,
        tape_mm: tape?,
        viewed_mm: viewed?,
        noise: noise?,
        levels: levels?,
        follow: follow?,
        advise: advise?,
        from_mm,
        to_mm,
    }))
}

#[expect(clippy::option_option, reason = "absent and unreadable are two things here")]
fn read_spine(root: &mut Fields<'_>, stock: &Stock) -> Option<Option<SpineRules>> {
    const LEAST: Wanted = Wanted::length(20.0, LONGEST_MM, "150 mm");
    let Some(field) = root.get("spine") else { return Some(None) };
    let mut spine = field.table()?;
    let bar = spine.need("bar", "bar = \"flat-aluminium-12x3\"").and_then(|f| stock.find(&f, &stock.rows.bars));
    let least_length = spine.quantity("least-length", &LEAST, Some(defaults::LEAST_SPINE_MM));
    let thickness = spine.optional_quantity("thickness", &rows::BAR_SIDE);
    let height = spine.optional_quantity("height", &rows::BAR_SIDE);
    let tolerance = spine.optional_quantity("tolerance", &rows::BAR_TOLERANCE);
    let slot = [
        spine.optional_quantity("slot-thickness", &rows::BAR_SIDE),
        spine.optional_quantity("slot-height", &rows::BAR_SIDE),
    ];
    if let (Some(bar), Some(thickness), Some(height)) = (bar, thickness, height)
        && bar.round
        && thickness.or(height) != height.or(thickness)
    {
        let message = format!("{:?} is round, but its two readings differ", bar.name);
        spine.error_at("height", message, "give the larger reading, as thickness or as height");
    }
    let longest = spine.optional_quantity("longest", &LEAST);
    let cut_items = list(&mut spine, "cut", "[\"900 mm\"]");
    let cut = each(&cut_items, |item| item.quantity(&STATION));
    let leave_items = list(&mut spine, "leave", "[[\"300 mm\", \"420 mm\"]]");
    let leave = each(&leave_items, |item| item.range(&STATION));
    let span = read_span(&mut spine);
    let glued = spine.flag("glued", false);
    let choices = read_choices(&mut spine, stock);
    spine.finish();
    let (from_mm, to_mm) = span?;
    let mut bar = bar?.clone();
    let (thickness, height) = (thickness?, height?);
    let [nominal_thickness, nominal_height] = bar.size_mm;
    bar.size_mm = if bar.round {
        [thickness.or(height).unwrap_or(nominal_thickness); 2]
    } else {
        [thickness.unwrap_or(nominal_thickness), height.unwrap_or(nominal_height)]
    };
    bar.tolerance_mm = tolerance?.unwrap_or(bar.tolerance_mm);
    let slot_mm = [slot[0]?, slot[1]?];
    Some(Some(SpineRules {
        bar,
        least_length_mm: least_length?,
        slot_mm,
        glued: glued?,
        choices: choices?,
        longest_mm: longest?,
        cut_mm: cut?,
        leave_mm: leave?,
        from_mm,
        to_mm,
    }))
}

/// Stock that may stand in the spine's place: what the maker names, or all that there is.
fn read_choices(spine: &mut Fields<'_>, stock: &Stock) -> Option<Vec<crate::catalogue::Bar>> {
    let items = match spine.get("choices") {
        None => return Some(stock.rows.bars.clone()),
        Some(field) => field.items("[\"flat-aluminium-15x3\"]")?,
    };
    items.iter().map(|item| stock.find(item, &stock.rows.bars).cloned()).collect()
}

/// How thick the bundle is, and how much light it sends back.
fn read_wires(root: &mut Fields<'_>) -> Option<(f64, f64)> {
    const BUNDLE: Wanted = Wanted::length(0.5, 30.0, "4 mm");
    let Some(field) = root.get("wires") else { return Some((defaults::WIRE_BUNDLE_MM, defaults::WIRE_REFLECT)) };
    let mut wires = field.table()?;
    let bundle = wires.quantity("bundle", &BUNDLE, Some(defaults::WIRE_BUNDLE_MM));
    let reflect = wires.quantity("reflect", &SHARE, Some(defaults::WIRE_REFLECT));
    wires.finish();
    Some((bundle?, reflect?))
}
