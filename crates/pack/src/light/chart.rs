//! Luminance along a window, on the same axis as the side view above it.

use super::stem;
use crate::svg::{Anchor, Drawing, Sheet, thinned};
use crate::view::{MARGIN, PROP_WIDTH, View, cut_line, outline, role, span, station_axis, view_range, whole_scale};
use crate::words::{self, short};
use prop::light::{Lighting, Profile, READS_EVEN};
use prop::outcome::Outcome;
use solid::DVec2;

/// Height of the chart, mm on the sheet.
const HEIGHT: f64 = 60.0;

/// A drawing for each window in each body, with the path it has in the pack.
pub(crate) fn draw(outcome: &Outcome) -> Vec<(String, Sheet)> {
    let Some(light) = &outcome.light else { return Vec::new() };
    (0..light.profiles.len())
        .map(|k| {
            let name = stem(light.name(&light.profiles[k]));
            (format!("drawings/light-{}-{name}.svg", k + 1), window(outcome, light, k))
        })
        .collect()
}

fn window(outcome: &Outcome, light: &Lighting, k: usize) -> Sheet {
    let profile = &light.profiles[k];
    let name = light.name(profile);
    let [from, to] = span(outcome);
    let scale = whole_scale(to - from);
    let width = 2.0 * MARGIN + PROP_WIDTH.max((to - from) / scale);
    let lit = light.lit_mm[k];
    let mean = profile.mean(lit).map_or(0.0, |r| r.value);
    let mut d = Drawing::new(
        format!("light-{}", k + 1),
        format!("{}: how the window {name} glows", outcome.prop),
        format!(
            "Luminance along the window {name} in white, {}, on the station axis of the side view above it: {} candela a square metre on average between stations {} and {} mm.",
            super::driven(light),
            short(mean, 0),
            short(lit[0], 0),
            short(lit[1], 0)
        ),
    );
    let mut view = View { scale, left_mm: from, zero_y: 0.0, top_view: false };
    let range = view_range(outcome, &view);
    d.text(
        "head",
        DVec2::new(MARGIN, 12.0),
        Anchor::Start,
        &format!("Window {name}, in white, {}", super::driven(light)),
    );
    let top = 24.0;
    view.zero_y = top + range[1] / scale;
    let chart_top = top + (range[1] - range[0]) / scale + 10.0;
    prop(&mut d, outcome, &view, k, light);
    let floor = chart_top + HEIGHT;
    curves(&mut d, outcome, light, k, &view, [chart_top, floor]);
    cuts(&mut d, outcome, &view, floor);
    let y = station_axis(&mut d, outcome, &view, floor + 8.0);
    let y = key(&mut d, outcome, light, k, y + 4.0, width);
    d.finish(DVec2::new(width, y + 6.0))
}

/// The side view with the pixels.
fn prop(d: &mut Drawing, outcome: &Outcome, view: &View, k: usize, light: &Lighting) {
    for (i, body) in outcome.views.iter().enumerate() {
        d.begin(&format!("body-{}", i + 1), &format!("{} ({})", body.name, role(body.role)));
        d.outlines("thin", [outline(view, &body.side)]);
        d.end();
    }
    let title = format!("Pixels behind the window {}", light.name(&light.profiles[k]));
    d.begin("pixels", &title);
    for p in &outcome.pixels {
        d.rect("light pixel", view.at(p.point) - DVec2::splat(0.45), DVec2::splat(0.9));
    }
    d.end();
}

fn cuts(d: &mut Drawing, outcome: &Outcome, view: &View, floor: f64) {
    for joint in &outcome.joints {
        let [upper, lower] = cut_line(outcome, view, joint);
        let x = view.x(joint.frame.point.x);
        d.begin(&format!("J{}", joint.number), &format!("Joint J{}", joint.number));
        d.line("cut", upper, lower);
        d.line("centre", DVec2::new(x, lower.y), DVec2::new(x, floor));
        d.text("name", upper - DVec2::new(0.0, 1.0), Anchor::Middle, &format!("J{}", joint.number));
        d.end();
    }
}

fn curves(d: &mut Drawing, outcome: &Outcome, light: &Lighting, k: usize, view: &View, [top, floor]: [f64; 2]) {
    let profile = &light.profiles[k];
    let x_at = |station: f64| view.x(outcome.path.point(station).x);
    // The plastic at its clearest must have room too.
    let all = std::iter::once(profile).chain(light.ends.iter().filter_map(|e| e.get(k)));
    let most = all.flat_map(|p| p.luminance_cd_m2.iter().copied()).fold(0.0, f64::max);
    let step = step(most);
    let full = (most / step).ceil().max(1.0) * step;
    let y_at = |value: f64| floor - (floor - top) * value / full;
    let [left, right] = [0.0, outcome.path.length_mm()].map(x_at);
    d.begin("scale", "Luminance, candela a square metre");
    for i in 0..=(full / step).round() as u32 {
        let value = f64::from(i) * step;
        d.line("thin", DVec2::new(left - 1.5, y_at(value)), DVec2::new(if i == 0 { right } else { left }, y_at(value)));
        d.text("small", DVec2::new(left - 2.2, y_at(value) + 1.0), Anchor::End, &short(value, 0));
    }
    d.line("thin", DVec2::new(left, floor), DVec2::new(left, top));
    d.text("small", DVec2::new(left - 2.0, top - 2.5), Anchor::Start, "cd/m²");
    d.end();

    let lit = light.lit_mm[k];
    let all = profile.smoothed(light.pitch_mm, lit);
    if let Some(high) = all.iter().map(|r| r.value).reduce(f64::max) {
        let y = y_at(high * READS_EVEN);
        d.begin("limit", "What still reads as even: two thirds of the brightest");
        d.line("hidden", DVec2::new(x_at(lit[0]), y), DVec2::new(x_at(lit[1]), y));
        d.text("small", DVec2::new(x_at(lit[1]) + 1.5, y + 1.0), Anchor::Start, "limit");
        d.end();
    }
    for (end, word) in light.ends.iter().zip(["low", "high"]) {
        if let Some(end) = end.get(k) {
            let points = line(end, &x_at, &y_at);
            d.begin(
                &format!("end-{word}"),
                &format!("With scattering and absorption at the {word} end of their range"),
            );
            d.polyline("way", thinned(&points));
            d.end();
        }
    }
    d.begin("luminance", "Luminance along the window");
    d.polyline("light", line(profile, &x_at, &y_at));
    d.end();
    d.begin("smoothed", "The same without the pixels' ripple");
    let points: Vec<DVec2> = all.iter().map(|r| DVec2::new(x_at(r.station_mm), y_at(r.value))).collect();
    d.polyline("thick", thinned(&points));
    d.end();
}

fn line(profile: &Profile, x_at: &dyn Fn(f64) -> f64, y_at: &dyn Fn(f64) -> f64) -> Vec<DVec2> {
    let cells = (0..profile.station_mm.len()).filter(|i| profile.area_mm2[*i] > 0.0);
    cells.map(|i| DVec2::new(x_at(profile.station_mm[i]), y_at(profile.luminance_cd_m2[i]))).collect()
}

/// A round step that leaves three to eight of it below `most`.
pub(crate) fn step(most: f64) -> f64 {
    let power = libm::pow(10.0, libm::floor(libm::log10(most.max(1e-6) / 3.0)));
    let wanted = most.max(1e-6) / 3.0 / power;
    power
        * if wanted >= 5.0 {
            5.0
        } else if wanted >= 2.0 {
            2.0
        } else {
            1.0
        }
}

/// What the lines mean, and the title block. Returns the next free y.
fn key(d: &mut Drawing, outcome: &Outcome, light: &Lighting, k: usize, y: f64, width: f64) -> f64 {
    let rows = [
        ("prop", outcome.prop.clone()),
        ("drawing", format!("light of the window {}", light.name(&light.profiles[k]))),
        ("light", format!("white, {}", super::driven(light))),
        ("noise", format!("{} % a square centimetre", short(light.noise() * 100.0, 1))),
        ("inputs", outcome.input_hash.chars().take(16).collect()),
    ];
    let bottom = y + rows.len() as f64 * 5.4;
    d.title_block(DVec2::new(width - MARGIN, bottom), &rows);
    let lit = light.lit_mm[k];
    let lines = [
        ("thick", format!("mean over a pitch, where it is judged: {}", words::stations(lit.map(f64::round)))),
        ("light", "luminance of each cell, as followed".to_owned()),
        ("way", "with the plastic at the ends of its range".to_owned()),
        ("hidden", "two thirds of the brightest: what still reads as even".to_owned()),
    ];
    d.begin("lines", "What the lines mean");
    for (i, (class, word)) in lines.iter().enumerate() {
        let at = DVec2::new(MARGIN, y + 4.0 + i as f64 * 6.0);
        d.line(class, at, at + DVec2::new(15.0, 0.0));
        d.text("small", at + DVec2::new(18.0, 1.0), Anchor::Start, word);
    }
    d.end();
    bottom
}

#[cfg(test)]
mod tests {
    use super::step;

    #[test]
    fn steps_are_round() {
        assert_eq!([step(1000.0), step(420.0), step(29.0), step(7.0)], [200.0, 100.0, 5.0, 2.0]);
    }
}
