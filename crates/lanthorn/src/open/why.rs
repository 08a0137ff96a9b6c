//! What is behind a number of the page: equation, inputs, source.

use super::fault::{Answer, Fault};
use super::routes::{Bench, open};
use axum::Json;
use axum::extract::{Path, State};
use prop::finding::{Finding, Input, input};
use prop::outcome::Outcome;
use serde::Serialize;
use toml_edit::{DocumentMut, Table};

/// The guide, whose tables explain each kind of finding.
const GUIDE: &str = include_str!("../../../../docs/guide.md");
/// How numbers are worked out.
const REASONS: &str = include_str!("why.toml");

/// What is behind a number.
#[derive(Debug, Default, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Why {
    /// What it is, in the guide's words.
    what: String,
    /// Its equation.
    equation: Option<String>,
    /// The numbers that went into it.
    inputs: Vec<Given>,
    /// How it is worked out, in words.
    how: Option<String>,
    /// From what, in words.
    from: Option<String>,
    /// By whose word it is worked out so.
    source: Option<String>,
    /// Where more stands.
    more: Option<String>,
}

/// A number that went in.
#[derive(Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Given {
    /// Its letter in the equation, if it has one.
    symbol: Option<String>,
    name: String,
    value: f64,
    unit: &'static str,
    /// Who says it.
    from: String,
}

/// What is behind a number: `glow_even.0` is the first finding of its kind, `summary.mass_g` and `track.wall` are none.
pub(crate) async fn why(State(bench): Bench, Path(id): Path<String>) -> Answer<Why> {
    let outcome = open(&bench, |desk| desk.shown.outcome.clone())?;
    let outcome = outcome.as_ref().map(|o| &*o.1);
    let of_finding = || {
        let (kind, nth) = id.split_once('.')?;
        let nth: usize = nth.parse().ok()?;
        finding(outcome?.findings.iter().filter(|f| f.id == kind).nth(nth)?)
    };
    number(&id, outcome).or_else(of_finding).map(Json).ok_or_else(|| Fault::none("such number"))
}

/// What is behind a finding.
fn finding(told: &Finding) -> Option<Why> {
    let marked = format!("`{}`", told.id);
    let says = |line: &&str| line.starts_with('|') && line.split('|').nth(1).is_some_and(|cell| cell.contains(&marked));
    let row = GUIDE.lines().find(says)?;
    let reasons = REASONS.parse::<DocumentMut>().ok()?;
    let (words, equation) = (entry(&reasons, "why", told.id), entry(&reasons, "equation", told.id));
    let of = |key| words.and_then(|t| text(t, key));
    Some(Why {
        what: row.split('|').nth(2)?.trim().to_owned(),
        equation: equation.and_then(|t| text(t, "is")),
        inputs: given(equation, &told.inputs),
        how: of("how"),
        from: of("from"),
        source: of("source"),
        more: of("more"),
    })
}

/// What is behind a number that is no finding: its own words, and what the first finding that it names lends.
fn number(place: &str, outcome: Option<&Outcome>) -> Option<Why> {
    let reasons = REASONS.parse::<DocumentMut>().ok()?;
    let words = entry(&reasons, "number", place)?;
    let told = outcome.map_or(&[][..], |o| &o.findings);
    let lender = texts(words, "see").find_map(|id| told.iter().find(|f| f.id == id));
    let lent = lender.and_then(finding).unwrap_or_default();
    let own = outcome.map_or_else(Vec::new, |o| inputs(place, o));
    Some(Why {
        what: text(words, "what")?,
        equation: text(words, "is").or(lent.equation),
        inputs: given(Some(words), &own).into_iter().chain(lent.inputs).collect(),
        how: text(words, "how").or(lent.how),
        from: text(words, "from").or(lent.from),
        source: text(words, "source").or(lent.source),
        more: text(words, "more").or(lent.more),
    })
}

/// Inputs of a number that no finding lends.
fn inputs(place: &str, o: &Outcome) -> Vec<Input> {
    let each = |names: &mut dyn Iterator<Item = &str>, unit, from: &'static str, value: &dyn Fn(&str) -> f64| {
        let mut seen: Vec<String> = Vec::new();
        for name in names {
            if !seen.iter().any(|s| s == name) {
                seen.push(name.to_owned());
            }
        }
        seen.into_iter().map(|name| (value(&name), name)).map(|(v, name)| input(name, v, unit, from)).collect()
    };
    match place {
        "summary.length_mm" => {
            let ends = o.bodies.iter().filter_map(|b| b.mesh.bounds()).map(|b| [b.min.x, b.max.x]);
            let ends = ends.reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])]);
            let of = |[butt, tip]: [f64; 2]| [("butt at", butt), ("tip at", tip)];
            ends.into_iter().flat_map(of).map(|(name, mm)| input(name, mm, "mm", "your shape, scaled")).collect()
        }
        "summary.plates" => each(&mut o.plates.iter().map(|p| &*p.printer), "1", "as pieces were laid", &|printer| {
            o.plates.iter().filter(|p| p.printer == printer).count() as f64
        }),
        "summary.pieces" => each(&mut o.pieces.iter().map(|p| &*p.body), "1", "the cuts", &|body| {
            o.pieces.iter().filter(|p| p.body == body).count() as f64
        }),
        "summary.print_elapsed_s" => {
            each(&mut o.plates.iter().map(|p| &*p.printer), "h", "its plates, one after the other", &|printer| {
                o.plates.iter().filter(|p| p.printer == printer).map(|p| p.time_s.value / 3600.0).sum()
            })
        }
        "track.cuts" => each(&mut o.pieces.iter().map(|p| &*p.printer), "mm", "printer.NAME.bed", &|printer| {
            o.pieces.iter().filter(|p| p.printer == printer).map(super::tracks::reach_mm).fold(0.0, f64::max)
        }),
        "track.pixels" => vec![input("pixels", o.pixels.len() as f64, "1", "the strips as they lie")],
        "track.solidness" => vec![
            input("length", o.path.length_mm(), "mm", "the centre path of your shape"),
            input("between planes, about", super::tracks::SECTION_MM, "mm", "our choice"),
        ],
        _ => Vec::new(),
    }
}

/// Inputs with their letters.
fn given(equation: Option<&Table>, inputs: &[Input]) -> Vec<Given> {
    let letters: Vec<[String; 2]> = equation
        .and_then(|t| t.get("symbols")?.as_array())
        .into_iter()
        .flatten()
        .filter_map(|pair| {
            let at = |k| pair.as_array()?.get(k)?.as_str().map(str::to_owned);
            Some([at(0)?, at(1)?])
        })
        .collect();
    let letter = |name: &str| letters.iter().find(|l| l[1] == name).map(|l| l[0].clone());
    inputs
        .iter()
        .map(|i| Given {
            symbol: letter(&i.name),
            name: i.name.clone().into_owned(),
            value: i.value,
            unit: i.unit,
            from: i.from.clone().into_owned(),
        })
        .collect()
}

/// The table of a kind that is of `of`.
fn entry<'t>(reasons: &'t DocumentMut, kind: &str, of: &str) -> Option<&'t Table> {
    reasons.get(kind)?.as_array_of_tables()?.iter().find(|t| texts(t, "of").any(|name| name == of))
}

fn text(table: &Table, name: &str) -> Option<String> {
    table.get(name)?.as_str().map(str::to_owned)
}

fn texts<'t>(table: &'t Table, name: &str) -> impl Iterator<Item = &'t str> {
    table.get(name).and_then(|v| v.as_array()).into_iter().flatten().filter_map(|v| v.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use prop::finding::{Measured, Verdict};

    /// A finding of a kind, of one input.
    fn told(id: &'static str, inputs: Vec<Input>) -> Finding {
        Finding {
            id,
            verdict: Verdict::Note,
            subject: "prop".into(),
            station_mm: None,
            measured: Measured { value: 1.0, low: 1.0, high: 1.0, unit: "mm" },
            inputs,
            limit: None,
            message: String::new(),
            remedy: String::new(),
        }
    }

    #[test]
    fn a_finding_says_what_it_is_its_equation_and_its_own_inputs_with_their_letters() {
        let turns = [input("tilt", 0.25, "deg", "a fit"), input("more", 1.0, "1", "nothing")];
        let found = finding(&told("joint_play", turns.to_vec())).unwrap();
        assert_eq!(found.equation.as_deref(), Some("s = α·l"));
        let letters: Vec<_> = found.inputs.iter().map(|i| (i.symbol.as_deref(), i.value)).collect();
        assert_eq!(letters, [(Some("α"), 0.25), (None, 1.0)]);
        for part in [Some(found.what), found.how, found.from, found.source, found.more] {
            assert!(part.as_ref().is_some_and(|w| w.len() > 10), "{part:?}");
        }
        assert!(finding(&told("no_such", Vec::new())).is_none());
    }

    #[test]
    fn every_reason_is_of_a_kind_that_the_guide_has_and_no_kind_has_two() {
        let reasons = REASONS.parse::<DocumentMut>().unwrap();
        for (list, many) in [("why", 120), ("equation", 90), ("number", 15)] {
            let mut seen: Vec<&str> = Vec::new();
            for id in reasons[list].as_array_of_tables().unwrap().iter().flat_map(|t| texts(t, "of")) {
                let known = if list == "number" { number(id, None).is_some() } else { is_told(id) };
                assert!(known, "{list}: the guide has no {id}");
                assert!(!seen.contains(&id), "{list}: {id} twice");
                assert!(
                    list != "equation" || entry(&reasons, "why", id).is_some(),
                    "{id} has an equation and no words"
                );
                seen.push(id);
            }
            assert!(seen.len() > many, "{list}: {}", seen.len());
        }
    }

    fn is_told(id: &str) -> bool {
        GUIDE.lines().any(|l| l.starts_with('|') && l.split('|').nth(1).is_some_and(|c| c.contains(&format!("`{id}`"))))
    }

    #[test]
    fn every_track_says_why() {
        for id in crate::open::tracks::ORDER {
            let found = number(&format!("track.{id}"), None).unwrap_or_else(|| panic!("{id}"));
            assert!(found.what.len() > 10, "{id}");
        }
    }
}
