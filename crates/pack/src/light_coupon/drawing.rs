//! Wedge and frame full size, from the front and cut along the windows, and how they lie under the camera.

use crate::labels::text_width;
use crate::svg::{Anchor, Drawing, LETTER, Sheet};
use crate::words::fixed;
use prop::coupon::{LightCoupon, PLATE_MM, STEP_MM, WINDOW_MM, window_middle};
use solid::DVec2;

const MARGIN: f64 = 10.0;
/// Width of the sheet, mm: A4 across.
const SHEET_WIDTH: f64 = 297.0;
/// Heights of what is drawn below each other, mm.
const HEAD: f64 = 12.0;
const BETWEEN: f64 = 16.0;
/// The screen's thickness in drawings, mm.
const SCREEN: f64 = 3.0;

/// Draws all coupons, one below the other, and the way to measure beside the first.
pub(super) fn draw(prop: &str, coupons: &[LightCoupon]) -> Sheet {
    let mut d = Drawing::new(
        "light-coupon",
        format!("{prop}: light coupons"),
        format!(
            "{} step wedges, scale 1:1: each seen from the front with its figures and thicknesses in millimetres and the frame's \
             windows, and cut along them as it lies on the screen; and how camera, frame, wedge and screen stand.",
            coupons.len()
        ),
    );
    let mut y = MARGIN;
    for (at, coupon) in coupons.iter().enumerate() {
        let low = draw_coupon(&mut d, coupon, y);
        let low =
            if at == 0 { low.max(setup(&mut d, DVec2::new(SHEET_WIDTH - MARGIN - 112.0, y + HEAD))) } else { low };
        y = low + 8.0;
    }
    let rows = [
        ("Prop", prop.to_owned()),
        ("Drawing", "Light coupons".to_owned()),
        ("Scale", "1:1, the setting not to scale".to_owned()),
        ("Numbers", "thickness of each step, mm".to_owned()),
        ("Sheet", "readings.csv: a line for each step".to_owned()),
    ];
    let height = rows.len() as f64 * 5.4;
    d.title_block(DVec2::new(SHEET_WIDTH - MARGIN, y + height), &rows);
    d.finish(DVec2::new(SHEET_WIDTH, y + height + MARGIN))
}

fn draw_coupon(d: &mut Drawing, coupon: &LightCoupon, top: f64) -> f64 {
    d.begin(&format!("coupon-{}", coupon.number), &format!("Coupon {}", coupon.number));
    let minutes = |s: f64| format!("{:.0}", (s / 60.0).ceil());
    let time = &coupon.time_s;
    let head = format!(
        "Coupon {}: printer {}, {}. Wedge: {} min ({} to {})",
        coupon.number,
        coupon.printer,
        coupon.material,
        minutes(time.value),
        minutes(time.low),
        minutes(time.high)
    );
    d.text("head", DVec2::new(MARGIN, top + 4.5), Anchor::Start, &head);
    let corner = DVec2::new(MARGIN + 8.0, top + HEAD);
    let low = front(d, coupon, corner);
    let low = cut(d, coupon, DVec2::new(corner.x, low + BETWEEN));
    d.end();
    low
}

/// The wedge from the front, the windows dashed.
fn front(d: &mut Drawing, coupon: &LightCoupon, corner: DVec2) -> f64 {
    let [long, high, _] = coupon.wedge.size_mm;
    let at = |p: DVec2| corner + DVec2::new(p.x, high - p.y);
    d.begin(&coupon.wedge.name, &coupon.wedge.name);
    d.rect("thick", corner, DVec2::new(long, high));
    for (k, step) in coupon.steps.iter().enumerate() {
        if k > 0 {
            let x = step.middle_mm - STEP_MM / 2.0;
            d.line("thin", at(DVec2::new(x, 0.0)), at(DVec2::new(x, high)));
        }
        let window = DVec2::from(WINDOW_MM);
        let middle = window_middle(step);
        d.rect("hidden", at(middle + DVec2::new(-window.x, window.y) / 2.0), window);
        d.text("head", at(DVec2::new(step.middle_mm, 4.2)), Anchor::Middle, &step.figure.to_string());
        let below = at(DVec2::new(step.middle_mm, 0.0)) + DVec2::new(0.0, 5.0);
        d.text("", below, Anchor::Middle, &fixed(step.thickness_mm, 2));
    }
    d.end();
    d.dimension(at(DVec2::ZERO), at(DVec2::new(0.0, high)), -5.0, &fixed(high, 0));
    let low = corner.y + high;
    d.dimension(DVec2::new(corner.x, low + 6.0), DVec2::new(corner.x + long, low + 6.0), 4.5, &fixed(long, 0));
    low + 10.5
}

/// Wedge and frame cut along the windows, on the screen.
fn cut(d: &mut Drawing, coupon: &LightCoupon, corner: DVec2) -> f64 {
    let [frame_long, _, deep] = coupon.frame.size_mm;
    let long = coupon.wedge.size_mm[0];
    let edge = (frame_long - long) / 2.0;
    let floor = corner.y + deep;
    let at = |u: f64, n: f64| DVec2::new(corner.x + u, floor - n);
    d.begin(&coupon.frame.name, &coupon.frame.name);
    let mut stair = vec![at(0.0, 0.0)];
    for (k, step) in coupon.steps.iter().enumerate() {
        let left = if k == 0 { 0.0 } else { step.middle_mm - STEP_MM / 2.0 };
        let right = if k + 1 == coupon.steps.len() { long } else { step.middle_mm + STEP_MM / 2.0 };
        stair.extend([at(left, step.thickness_mm), at(right, step.thickness_mm)]);
    }
    stair.push(at(long, 0.0));
    d.outlines("thick", [stair]);
    // The frame: rims and what stands between windows.
    let rim = 2.4;
    for u in [-edge, long + edge - rim] {
        d.rect("thick", at(u, deep - PLATE_MM), DVec2::new(rim, deep - PLATE_MM));
    }
    let mut from = -edge;
    let ends = coupon.steps.iter().map(|s| Some(s.middle_mm)).chain([None]);
    for end in ends {
        let to = end.map_or(long + edge, |m| m - WINDOW_MM[0] / 2.0);
        d.rect("solid", at(from, deep), DVec2::new(to - from, PLATE_MM));
        from = end.map_or(to, |m| m + WINDOW_MM[0] / 2.0);
    }
    d.rect("light", at(-edge - 4.0, 0.0), DVec2::new(frame_long + 8.0, SCREEN));
    d.end();
    let note = "cut along the windows: frame (dark), wedge with its flat back on the screen";
    d.text("small", DVec2::new(corner.x - edge, floor + SCREEN + 5.0), Anchor::Start, note);
    floor + SCREEN + 6.0
}

/// How it is measured, not to scale: camera straight above, and aslant for the screen from 60 degrees.
fn setup(d: &mut Drawing, corner: DVec2) -> f64 {
    let (width, floor) = (112.0, corner.y + 84.0);
    d.begin("setting", "How it is measured");
    d.text("head", corner + DVec2::new(0.0, 4.5), Anchor::Start, "The setting");
    d.rect("light", DVec2::new(corner.x, floor), DVec2::new(width, 4.0));
    d.text("light", DVec2::new(corner.x, floor + 9.0), Anchor::Start, "screen: all white, full brightness, lying flat");
    let middle = DVec2::new(corner.x + 44.0, floor);
    d.rect("thick", middle + DVec2::new(-22.0, -3.0), DVec2::new(44.0, 3.0));
    d.rect("solid", middle + DVec2::new(-24.0, -5.5), DVec2::new(18.0, 1.6));
    d.rect("solid", middle + DVec2::new(6.0, -5.5), DVec2::new(18.0, 1.6));
    d.text("small", middle + DVec2::new(-26.0, -7.5), Anchor::Start, "frame");
    d.text("small", middle + DVec2::new(-26.0, -0.6), Anchor::End, "wedge");
    let camera = |d: &mut Drawing, place: DVec2, towards: DVec2, word: &str| {
        let side = DVec2::new(-towards.y, towards.x);
        let body = [(-9.0, 0.0), (9.0, 0.0), (9.0, -3.0), (-9.0, -3.0)].map(|(a, b)| place + side * a + towards * b);
        d.outlines("thick", [body]);
        d.outlines(
            "solid",
            [[(-1.5, 0.0), (1.5, 0.0), (1.5, 1.5), (-1.5, 1.5)].map(|(a, b)| place + side * a + towards * b)],
        );
        // Clear of the phone, however it is turned.
        let text = place - towards * 3.0 - DVec2::new(0.0, 3.0 + 9.0 * towards.x.abs());
        d.text("", text - DVec2::new(text_width(word, LETTER) / 2.0, 0.0), Anchor::Start, word);
    };
    let straight = middle - DVec2::new(0.0, 62.0);
    camera(d, straight, DVec2::Y, "phone, straight on");
    d.line("centre", middle - DVec2::new(0.0, 4.0), straight + DVec2::new(0.0, 2.0));
    d.text_turned("small", middle + DVec2::new(-2.0, -22.0), Anchor::Start, "300 mm or more", true);
    let (sin, cos) = (0.866_025_4, 0.5);
    let aslant = middle + DVec2::new(sin, -cos) * 56.0;
    camera(d, aslant, DVec2::new(-sin, cos), "for screen-60");
    d.line("centre", middle - DVec2::new(0.0, 4.0), aslant - DVec2::new(sin, -cos) * 2.0);
    let arc: Vec<DVec2> = (0..=12)
        .map(|k| {
            let (s, c) = libm::sincos(std::f64::consts::FRAC_PI_3 * f64::from(k) / 12.0);
            middle + DVec2::new(s, -c) * 24.0
        })
        .collect();
    d.polyline("thin", arc);
    d.text("", middle + DVec2::new(9.0, -26.5), Anchor::Start, "60\u{b0}");
    d.end();
    floor + 12.0
}
