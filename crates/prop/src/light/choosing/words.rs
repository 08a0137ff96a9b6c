//! What the changes come to, in words.

use super::question::{Question, SURE};
use super::{Choice, Outlook};
use crate::finding::Verdict;

/// A remedy that says what each change comes to; the one there was where nothing could be tried.
pub(super) fn remedy(question: &Question, choices: &[Choice], before: &str) -> String {
    let Some((now, tried)) = choices.split_first() else { return before.to_owned() };
    let Ok(base) = &now.outlook else { return before.to_owned() };
    let places: Vec<String> = now.station_mm.iter().map(|s| format!("{:.0} to {:.0} mm", s[0], s[1])).collect();
    let places = places.join(" and ");
    let figure = |o: &Outlook| {
        let noise = SURE * o.sigma;
        if o.value < noise {
            format!("under {}", percent(question, o.value + noise))
        } else {
            percent(question, o.value)
        }
    };
    if base.verdict == Verdict::Holds {
        return format!(
            "have the light followed longer (light.noise) to know it everywhere; a closer look at stations {places} comes to {}, which keeps its limit of {}",
            figure(base),
            percent(question, base.limit)
        );
    }
    let all = |verdict: Verdict| {
        let of = |c: &&Choice| c.outlook.as_ref().is_ok_and(|o| o.verdict == verdict);
        tried.iter().filter(of).collect::<Vec<_>>()
    };
    // Of each kind the last that holds is the least.
    let mut holding: Vec<&Choice> = Vec::new();
    for choice in all(Verdict::Holds) {
        holding.retain(|c| c.kind != choice.kind);
        holding.push(choice);
    }
    let said = |c: &Choice, o: &Outlook| {
        let way = match (c.kind, o.stand_off_mm) {
            (Some(super::Kind::StandOff), Some(mm)) => format!(" ({mm:.1} mm from pixel to wall)"),
            _ => String::new(),
        };
        format!(
            "{}{way} {} (limit {}, {:.2} times the light)",
            c.change,
            figure(o),
            percent(question, o.limit),
            o.brighter
        )
    };
    let list = |choices: &[&Choice]| {
        let each = choices.iter().filter_map(|c| c.outlook.as_ref().ok().map(|o| said(c, o)));
        each.collect::<Vec<_>>().join("; ")
    };
    let mut parts = Vec::new();
    if !holding.is_empty() {
        parts.push(format!("holds with any one of: {}", list(&holding)));
    }
    let settled = |c: &&Choice| !holding.iter().any(|h| h.kind == c.kind);
    let perhaps: Vec<&Choice> = all(Verdict::Unsure).into_iter().filter(settled).collect();
    if !perhaps.is_empty() {
        parts.push(format!("holds for most eyes and usual plastics with: {}", list(&perhaps)));
    }
    let short: Vec<&Choice> = all(Verdict::Fails).into_iter().filter(settled).collect();
    if holding.is_empty() && perhaps.is_empty() {
        let near = |c: &&Choice| c.outlook.as_ref().map_or(f64::INFINITY, |o| off(o.value / o.limit));
        let best = short.iter().copied().reduce(|a, b| if near(&b) < near(&a) { b } else { a });
        match best {
            Some(best) => parts.push(format!("no single change that was tried holds; nearest comes {}", list(&[best]))),
            None => parts.push("nothing that could be changed has room here".to_owned()),
        }
    }
    if !short.is_empty() {
        parts.push(format!("not enough: {}", list(&short)));
    }
    let cramped = tried.iter().filter_map(|c| c.outlook.as_ref().err().map(|why| format!("{} ({why})", c.change)));
    let cramped: Vec<String> = cramped.collect();
    if !cramped.is_empty() {
        parts.push(format!("not tried: {}", cramped.join("; ")));
    }
    let known = if question.found.is_some() { "against" } else { "where a closer look gives" };
    format!("{}. Each computed on stations {places}, {known} {} now", parts.join(". "), figure(base))
}

fn percent(question: &Question, value: f64) -> String {
    if question.is_share() { format!("{:.0} %", value * 100.0) } else { format!("{:.2} %", value * 100.0) }
}

/// How far a ratio is from 1, either way.
fn off(ratio: f64) -> f64 {
    if ratio > 0.0 { libm::log(ratio).abs() } else { f64::INFINITY }
}
