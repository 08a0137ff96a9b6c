//! What changes would make windows even: as data, and as rows of the page's table.

use crate::Artifact;
use crate::csv::line;
use crate::words;
use prop::light::{Choice, Lighting};

/// Every change that was tried, one a line; the present design, looked at as closely, has no change.
pub(super) fn file(light: &Lighting) -> Artifact {
    let mut text = line(&[
        "finding",
        "subject",
        "kind",
        "change",
        "stations_mm",
        "value",
        "sigma",
        "low",
        "high",
        "limit",
        "verdict",
        "times_the_light",
        "stand_off_mm",
        "why_not",
    ]);
    for choice in &light.choices {
        let figure = |v: f64| format!("{v:.5}");
        let numbers = match &choice.outlook {
            Ok(o) => [
                figure(o.value),
                figure(o.sigma),
                figure(o.band[0]),
                figure(o.band[1]),
                figure(o.limit),
                words::verdict(o.verdict).to_owned(),
                format!("{:.3}", o.brighter),
                o.stand_off_mm.map_or_else(String::new, |mm| format!("{mm:.2}")),
                String::new(),
            ],
            Err(why) => {
                let mut none: [String; 9] = Default::default();
                none[8].clone_from(why);
                none
            }
        };
        let mut fields = vec![choice.finding.to_owned(), choice.subject.clone(), kind(choice).to_owned()];
        fields.extend([choice.change.clone(), stations(choice)]);
        fields.extend(numbers);
        text += &line(&fields);
    }
    Artifact::new("light/choices.csv", text)
}

/// Columns of the page's table.
pub(crate) const COLUMNS: [&str; 6] = ["Window", "Change", "Comes to", "Limit", "Times the light", "Verdict"];

/// Rows of the page's table; none when nothing was tried.
pub(crate) fn rows(light: &Lighting) -> impl Iterator<Item = Vec<String>> {
    let percent = |v: f64| format!("{:.1} %", v * 100.0);
    light.choices.iter().map(move |choice| {
        let change = if choice.kind.is_none() { "none".to_owned() } else { choice.change.clone() };
        let [value, limit, times, verdict] = match &choice.outlook {
            Ok(o) => {
                [percent(o.value), percent(o.limit), format!("{:.2}", o.brighter), words::verdict(o.verdict).to_owned()]
            }
            Err(why) => [String::new(), String::new(), String::new(), why.clone()],
        };
        vec![format!("{} ({})", choice.subject, choice.finding), change, value, limit, times, verdict]
    })
}

fn kind(choice: &Choice) -> &'static str {
    choice.kind.map_or("present", prop::light::Kind::words)
}

fn stations(choice: &Choice) -> String {
    let each: Vec<String> = choice.station_mm.iter().map(|s| format!("{:.1}-{:.1}", s[0], s[1])).collect();
    each.join(" ")
}
