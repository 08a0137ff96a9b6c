//! The project file that a new prop starts with: everything that was found or guessed, said in comments.

use crate::outcome::Role;
use std::fmt::Write as _;

/// What is known of a shape when a project is begun.
#[derive(Clone, Debug, PartialEq)]
pub struct StarterFacts {
    /// Name of the prop.
    pub name: String,
    /// Path of the shape file, relative to the project file.
    pub shape_file: String,
    /// The finished length as the maker wrote it; `None` when it was left out.
    pub length_text: Option<String>,
    /// Bodies in the shape: name, role by its name, size (along, across, through), mm.
    pub bodies: Vec<(String, Role, [f64; 3])>,
    /// Whether the tip was taken to lie at the high end of the long axis.
    pub tip_high: bool,
    /// Why, as the end of a sentence that begins "because".
    pub tip_reason: String,
    /// The file's axis that was taken for the long one: 0, 1, 2 for x, y, z.
    pub axis: usize,
    /// Whether the length runs aslant of that axis, along the shape's own longest direction.
    pub aslant: bool,
    /// Why, as the end of a sentence that begins "because".
    pub axis_reason: String,
    /// The wearer's height as the maker wrote it.
    pub wearer: Option<String>,
}

/// Writes the starter. It reads without a mistake, whatever the names are, as long as the two quantities do.
pub fn starter(facts: &StarterFacts) -> String {
    let mut text = String::new();
    head(&mut text, facts);
    shape(&mut text, facts);
    let mut seen: Vec<String> = Vec::new();
    for named in &facts.bodies {
        let lower = named.0.to_lowercase();
        if seen.contains(&lower) {
            let _ = writeln!(
                text,
                "\n# A second body called {} goes by the table of its namesake.",
                remark(&quoted(&named.0))
            );
        } else {
            body(&mut text, named);
            seen.push(lower);
        }
    }
    if facts.bodies.iter().any(|(_, role, _)| *role == Role::Lit) {
        text.push_str(LIGHT);
    } else {
        text.push_str(NO_LIGHT);
    }
    text.push_str(REST);
    text
}

fn head(text: &mut String, facts: &StarterFacts) {
    let _ = write!(
        text,
        r##"# The project file of a prop. Everything behind a # is a remark; a line such as  # rows = 1  is a setting that is
# not in force: take the # away to use it.
#
# Quantities stand in quotes with their unit: "150 cm", "2 mm", "4 ft 11 in", "1/8 in", "20 %", "45 deg".
# A station is a place on the prop, counted along its middle from the butt.

[prop]
name = {name}
inches = false                  # true: show inches beside millimetres

[wearer]
"##,
        name = quoted(if facts.name.trim().is_empty() { "prop" } else { &facts.name })
    );
    let _ = match &facts.wearer {
        Some(height) => writeln!(text, "height = {}", quoted(height)),
        None => writeln!(text, "# height = \"168 cm\"            # to judge the prop's length against"),
    };
}

fn shape(text: &mut String, facts: &StarterFacts) {
    let axis = ["x", "y", "z"].get(facts.axis).unwrap_or(&"x");
    let thickness = if facts.axis == 2 { "y" } else { "z" };
    let (tip, other) = if facts.tip_high { ("high", "low") } else { ("low", "high") };
    let length = match &facts.length_text {
        Some(length) => format!("length = {:<22} # finished, straight from butt to tip: sets the scale", quoted(length)),
        None => "# length = \"150 cm\"            # NEEDED: the finished length, straight from butt to tip. It sets the scale,\n\
                 \x20                               # since a mesh file does not say how large it is meant to be."
            .to_owned(),
    };
    let axis_reason = remark(&facts.axis_reason);
    let axis_lines = if facts.aslant {
        format!(
            "# Guessed: the prop lies aslant in its file ({axis_reason}), so its length runs along its own longest direction.\n\
             # To have it run straight along one of the file's axes instead, take the mark away and write \"x\", \"y\" or \"z\".\n\
             # axis = \"{axis}\""
        )
    } else {
        format!(
            "# Guessed: the prop's length runs along the file's {axis} axis, because {axis_reason}.\n\
             # To change it, write \"x\", \"y\" or \"z\".\n\
             axis = \"{axis}\""
        )
    };
    let _ = write!(
        text,
        r##"
[shape]
file = {file}
{length}

{axis_lines}
# Guessed: the tip is at the {tip} end of {whose}, because {tip_reason}.
# If that is the butt, write "{other}".
tip = "{tip}"
# thickness = "{thickness}"               # the file's axis through the flat of the prop; found from the shape when left out
# The middle line is found from the shape. To draw it yourself, give points of the finished prop from butt to tip:
# along, across, through.
# path = [["0 mm", "0 mm", "0 mm"], ["900 mm", "20 mm", "0 mm"], ["1500 mm", "60 mm", "0 mm"]]
"##,
        file = quoted(&facts.shape_file),
        whose = if facts.aslant { format!("the file's {axis} axis") } else { "that axis".to_owned() },
        tip_reason = remark(&facts.tip_reason),
    );
}

fn body(text: &mut String, (name, role, size): &(String, Role, [f64; 3])) {
    let size = size.map(|mm| format!("{:.0}", mm.max(0.0))).join(" x ");
    let key = if bare(name) { name.clone() } else { quoted(name) };
    let role_line = match role {
        Role::Lit => {
            r##"role = "lit"                    # hollow, with light inside; or "plain", or "cover" (slides over another part)"##
        }
        Role::Plain => {
            r##"role = "plain"                  # printed with infill; or "lit" (hollow, with light inside), or "cover""##
        }
        Role::Cover => {
            r##"role = "cover"                  # slides over another part; or "plain", or "lit" (hollow, with light inside)"##
        }
    };
    let _ = write!(text, "\n# {size} mm. Its role was guessed from its name.\n[body.{key}]\n{role_line}\n");
    text.push_str(match role {
        Role::Lit => {
            r##"material = "pla-white"          # or "abs-white", "petg-natural", ...
wall = "2 mm"                   # thicker hides single pixels, thinner is brighter
least-cavity = "2 mm"           # where less would be left inside, it stays solid
glow = "edges"                  # where light leaves: "edges", "faces" or "around"
may-lie = false                 # true: its pieces may lie on the bed (support inside)
# joint = "collar"              # or "pegs", or "faces"; chosen for each cut when left out
# printers = ["wide"]           # all printers below may print it when left out
"##
        }
        Role::Plain | Role::Cover => {
            r##"material = "pla-white"
wall = "1.2 mm"                 # the shell round the infill
infill = "20 %"
# printers = ["wide"]
"##
        }
    });
}

const LIGHT: &str = r##"
[light]
strip = "strip-60"              # 60 pixels to the metre; or "strip-30", "strip-96", "strip-144"
rows = 2                        # two strips back to back; 1: one strip
tape = "0.1 mm"                 # insulating tape between strip and spine
# from = "420 mm"               # first and last station of the strip; found when left out
# to = "1480 mm"
# levels = "even"               # dim each pixel so that the window is even along the prop
# viewed-from = "3 m"           # how far people stand: what they can tell apart
# noise = "2 %"                 # of the computed light; 5 % when left out, half takes four times as long
# follow = false                # leave the light out: the quickest build

[spine]
bar = "flat-aluminium-12x3"     # measure yours with calipers and put the readings in:
# thickness = "3.1 mm"
# height = "12.0 mm"
# tolerance = "0.1 mm"
# slot-thickness = "3.9 mm"     # only to fix the slot, when pieces are printed already; it follows from the bar otherwise
# slot-height = "12.9 mm"
least-length = "150 mm"         # in a curved prop the bar is cut into straight lengths, none shorter than this
"##;

const NO_LIGHT: &str = r##"
# No body is lit by its name. To light one, write role = "lit" in its table and take away these marks:
# [light]
# strip = "strip-60"            # 60 pixels to the metre
# rows = 2                      # two strips back to back; 1: one strip
# tape = "0.1 mm"               # insulating tape between strip and spine

# [spine]
# bar = "flat-aluminium-12x3"
# least-length = "150 mm"
"##;

const REST: &str = r##"
[wires]
bundle = "4 mm"                 # thickness of the wires that run to the grip

# Guessed: one printer of a common size. Name your own, as many as you have.
# Kinds: filament-180, filament-220, filament-256, filament-300, resin-small, resin-medium.
[printer.wide]
kind = "filament-220"
# bed = ["220 mm", "220 mm", "250 mm"]
# layer = "0.2 mm"
# speed = "45 mm/s"
# slide-gap = ["0.2 mm", "0.3 mm"]   # gap on each side for parts that slide, from your own test print

# The cuts are worked out. To have a say, take away the marks:
# [cuts]
# lock = ["512 mm"]                   # cut exactly here
# forbid = [["300 mm", "340 mm"]]     # no cut in this range
# shift = [{ joint = 2, by = "6 mm" }]   # move joint J2 towards the tip, or by "-6 mm" towards the butt
"##;

/// A TOML text in double quotes.
fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            c if c.is_control() => {
                let _ = write!(quoted, "\\u{:04X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

/// A text that fits into a remark: on one line, without a full stop at its end.
fn remark(text: &str) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    clean.trim().trim_end_matches('.').to_owned()
}

fn bare(name: &str) -> bool {
    !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_')
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::project::{parse, role_by_name};
    use proptest::prelude::*;

    fn facts() -> StarterFacts {
        let body = |name: &str, size| (name.to_owned(), role_by_name(name), size);
        StarterFacts {
            name: "Reed glaive".into(),
            shape_file: "shape/reed-glaive.3mf".into(),
            length_text: Some("4 ft 11 in".into()),
            bodies: vec![
                body("pommel", [60.0, 40.0, 40.0]),
                body("blade", [1000.0, 120.0, 40.0]),
                body("guard ring", [30.0, 80.0, 60.0]),
            ],
            tip_high: true,
            tip_reason: "the prop is thinner there.".into(),
            axis: 2,
            aslant: false,
            axis_reason: "the shape is longest along it".into(),
            wearer: Some("168 cm".into()),
        }
    }

    #[track_caller]
    fn read(text: &str) -> crate::project::Project {
        parse(text, &Catalogue::built_in()).unwrap_or_else(|e| panic!("{}\n{text}", e.render("prop.toml", text)))
    }

    #[test]
    fn the_starter_reads_without_a_mistake_and_says_its_guesses() {
        let text = starter(&facts());
        let project = read(&text);
        assert_eq!(project.name, "Reed glaive");
        assert!((project.shape.length_mm.unwrap() - 59.0 * 25.4).abs() < 1e-9);
        assert_eq!((project.shape.axis, project.shape.tip_high), (Some(2), Some(true)));
        assert_eq!(project.wearer_mm, Some(1680.0));
        let roles: Vec<_> = project.bodies.iter().map(|b| (b.name.as_str(), b.role)).collect();
        assert_eq!(roles, [("pommel", Role::Plain), ("blade", Role::Lit), ("guard ring", Role::Cover)]);
        assert!(project.light.is_some() && project.spine.is_some());
        assert!(
            text.contains("the tip is at the high end of that axis, because the prop is thinner there.\n"),
            "{text}"
        );
        assert!(text.contains("If that is the butt, write \"low\"."));
        assert!(text.contains("along the file's z axis, because the shape is longest along it.\n"));
        assert!(text.contains("# 1000 x 120 x 40 mm. Its role was guessed from its name.\n[body.blade]\n"));
        assert!(text.contains("[body.\"guard ring\"]"));
    }

    #[test]
    fn without_length_wearer_or_light_it_still_reads() {
        let facts = StarterFacts {
            length_text: None,
            wearer: None,
            bodies: vec![("shaft".into(), Role::Plain, [900.0, 30.0, 30.0])],
            ..facts()
        };
        let text = starter(&facts);
        let project = read(&text);
        assert_eq!((project.shape.length_mm, project.wearer_mm), (None, None));
        assert!(project.light.is_none() && project.spine.is_none());
        assert!(text.contains("# length = \"150 cm\"            # NEEDED"));
    }

    #[test]
    fn every_setting_that_is_offered_in_a_remark_reads_too() {
        // Take the mark from each remark that holds a setting: "# key = ..." and "# [table]".
        let setting = |line: &str| {
            let rest = line.strip_prefix("# ")?;
            let key = rest.split(['=', ' ']).next()?;
            let known = rest.starts_with('[')
                || (rest.contains(" = ") && key.chars().all(|c| c.is_ascii_lowercase() || c == '-'));
            known.then(|| rest.to_owned())
        };
        let no_light = StarterFacts { bodies: vec![("shaft".into(), Role::Plain, [900.0, 30.0, 30.0])], ..facts() };
        let unsized_facts = StarterFacts { length_text: None, wearer: None, ..facts() };
        let aslant = StarterFacts { aslant: true, ..facts() };
        for facts in [facts(), no_light, unsized_facts, aslant] {
            let text = starter(&facts);
            let open: Vec<String> = text.lines().map(|line| setting(line).unwrap_or_else(|| line.to_owned())).collect();
            let project = read(&open.join("\n"));
            assert_eq!(project.cuts.lock_mm, [512.0]);
            assert_eq!(project.shape.path.as_ref().map(Vec::len), Some(3));
            assert!(project.light.is_some() && project.shape.length_mm.is_some());
        }
    }

    #[test]
    fn a_rod_that_lies_aslant_is_built_straight() {
        use crate::placing::{RawBody, file_to_prop, lie};
        use solid::DVec3;
        // 30 degrees off the file's x; cosine and sine from the half equilateral triangle.
        let along = DVec3::new(libm::sqrt(3.0) / 2.0, 0.5, 0.0);
        let (butt, tip) = (DVec3::new(4.0, -7.0, 2.0), DVec3::new(4.0, -7.0, 2.0) + along * 80.0);
        let rod = solid::cone_frustum(butt, tip, 2.0, 1.0, 48);
        let bodies = [RawBody { name: "rod".into(), role: Role::Plain, mesh: rod }];
        let guess = |text: &str| {
            let rules = read(text).shape;
            lie(&bodies, &rules).map(|how| (file_to_prop(&bodies, &how, rules.length_mm.unwrap()), how)).unwrap()
        };
        let blank = StarterFacts { aslant: true, length_text: Some("1 m".into()), ..facts() };
        let (_, found) = guess(&starter(&blank));
        let begun = starter(&StarterFacts {
            tip_high: found.tip_high,
            axis: found.axis,
            aslant: found.aslant,
            axis_reason: found.axis_reason,
            ..blank
        });
        assert!(begun.contains("lies aslant") && begun.contains("\n# axis = \"x\"\n"), "{begun}");
        let (to_prop, _) = guess(&begun);
        let ends = [butt, tip].map(|p| to_prop.transform_point3(p));
        assert!(ends[0].length() < 1e-6 && (ends[1] - DVec3::X * 1000.0).length() < 1e-6, "{ends:?}");
    }

    proptest! {
        #[test]
        fn any_names_read_back(name in "\\PC*[a-z\"\\\\\n]", file in "[a-z\"'\\\\ /é]{0,12}x", bodies in proptest::collection::vec("[abA .\"é]{0,2}", 0..5)) {
            let facts = StarterFacts {
                name: name.clone(),
                shape_file: file.clone(),
                bodies: bodies.iter().map(|b| (b.clone(), role_by_name(b), [1.0, 2.0, f64::NAN])).collect(),
                tip_reason: name.clone(),
                axis: 7,
                ..facts()
            };
            let project = read(&starter(&facts));
            prop_assert_eq!(&project.shape.file, &file);
            let names: Vec<String> = project.bodies.iter().map(|b| b.name.clone()).collect();
            let mut first: Vec<String> = Vec::new();
            for body in bodies {
                if first.iter().all(|other| other.to_lowercase() != body.to_lowercase()) {
                    first.push(body);
                }
            }
            prop_assert_eq!(names, first);
            if !name.trim().is_empty() {
                prop_assert_eq!(&project.name, &name);
            }
        }
    }
}
