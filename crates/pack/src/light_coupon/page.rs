//! `measure.html`: how to measure, without script and without network.

use crate::book::page_css;
use crate::html::{escape, link};
use crate::look;
use crate::svg::Sheet;
use crate::words;
use prop::coupon::LightCoupon;

/// The page with the drawing in it.
pub(super) fn page(prop: &str, coupons: &[LightCoupon], drawn: &Sheet) -> String {
    let mut out = String::with_capacity(1 << 15);
    out.push_str("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    out.push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    out.push_str("<meta name=\"color-scheme\" content=\"light dark\">\n");
    out.push_str(&format!("<title>{}: how to measure the light coupons</title>\n", escape(prop)));
    out.push_str(&format!("<style>\n{}{}</style>\n</head>\n<body>\n", page_css(), look::drawing_css()));
    out.push_str(&format!("<header>\n<h1>{}: light through your plastic</h1>\n", escape(prop)));
    out.push_str(
        "<p>How much your plastic scatters and absorbs decides how evenly the wall glows, and nobody publishes it for printed \
         walls. A wedge tells it: print one for each plastic, lay it on a white screen, and compare how bright its steps \
         are.</p>\n</header>\n<main>\n",
    );
    out.push_str("<section id=\"drawing\">\n<h2>The coupons</h2>\n<div class=\"wide\">\n");
    out.push_str(&drawn.to_inline());
    out.push_str("</div>\n");
    parts(&mut out, coupons);
    out.push_str("</section>\n");
    for (id, heading, steps) in SECTIONS {
        out.push_str(&format!("<section id=\"{id}\">\n<h2>{heading}</h2>\n<ol>\n"));
        steps.iter().for_each(|step| out.push_str(&format!("<li>{step}</li>\n")));
        out.push_str("</ol>\n</section>\n");
    }
    out.push_str("<section id=\"bad\">\n<h2>Bad readings, and how to see them</h2>\n<table>\n<thead><tr><th>You see</th><th>It is</th><th>Do</th></tr></thead>\n<tbody>\n");
    for [seen, cause, cure] in BAD {
        out.push_str(&format!("<tr><td>{seen}</td><td>{cause}</td><td>{cure}</td></tr>\n"));
    }
    out.push_str("</tbody>\n</table>\n</section>\n</main>\n<footer>\n<p><a href=\"readings.csv\">readings.csv</a> · <a href=\"light-coupon.svg\">the drawing full size</a></p>\n</footer>\n</body>\n</html>\n");
    out
}

fn parts(out: &mut String, coupons: &[LightCoupon]) {
    out.push_str("<table>\n<thead><tr><th>Print</th><th>In</th><th>On</th><th>Time, mass</th></tr></thead>\n<tbody>\n");
    for coupon in coupons {
        for (part, plastic) in
            [(&coupon.wedge, coupon.material.as_str()), (&coupon.frame, "any dark plastic, the darker the better")]
        {
            let file = format!("light-{}/{}.3mf", coupon.number, link(&part.name));
            out.push_str(&format!(
                "<tr><td><a href=\"{file}\">{}</a></td><td>{}</td><td>{}</td><td>{}, {}</td></tr>\n",
                escape(&part.name),
                escape(plastic),
                escape(&coupon.printer),
                words::band(part.time_s, "s"),
                words::band(part.mass_g, "g")
            ));
        }
    }
    out.push_str("</tbody>\n</table>\n");
}

/// Headings with their steps.
const SECTIONS: [(&str, &str, &[&str]); 4] = [
    (
        "print",
        "Print",
        &[
            "Print the wedge <b>standing</b>, as it comes, with the settings of your walls and a brim; no infill: every step is beads side \
             by side, as a wall is. Beads that lie otherwise scatter otherwise.",
            "Print the frame in dark plastic, its face on the bed. If it glows before a lamp, cover it with black tape.",
            "Measure each step with calipers if you have them, above its figures, and write what they show in the place of the drawn \
             thickness: a tenth of a millimetre is a twentieth of the light.",
        ],
    ),
    (
        "set",
        "Set up",
        &[
            "Take a tablet, a monitor or a laptop: all white, full brightness, no night colours, no dimming by itself, warm for ten \
             minutes. Lay it flat. A light pad or a lit sheet of paper will not do: it sends back what the wedge sends \
             back to it, again and again, until thick and thin steps look alike.",
            "Lay the wedge on it with its flat back down and its figures up, the frame over it. The middle of a step is 9 mm from its \
             neighbours: light that strays in from the thinner one and out to the thicker one cancels there. So look at \
             the middle of each window only.",
            "Darken the room. Stray light counts most on the thickest step.",
        ],
    ),
    (
        "camera",
        "With a phone's camera",
        &[
            "Set everything by hand and leave it: sensitivity (low), focus, white balance; flash off, no night mode, no \
             high-contrast mode. Only the exposure time changes. Times of 1/30 s and longer, or pictures show the screen's flicker.",
            "Stand the phone 300 mm or more above, straight on, a little out of focus if the screen's pixels show.",
            "<b>Steps.</b> For each window choose an exposure that makes its middle about half bright (pixel value 60 to 200), take a \
             picture, and read the pixel value in the middle in any picture viewer (the green one, or the mean of all three). \
             Write exposure and value into the step's line, <code>camera</code> under how.",
            "<b>Screen.</b> Take the wedge out and put the frame back. Read the bare screen through a middle window at five exposures, \
             from as dark to as bright as any step was. Each goes into a line <code>screen</code>. From these the camera's own curve \
             is known and drops out: a step as bright as the screen was at a quarter of the exposure lets through a quarter.",
            "<b>Screen aslant.</b> Take the frame away and look at the screen at 60 degrees from straight on (30 degrees above the screen: \
             a set square helps), once. Line <code>screen-60</code>. Screens are dimmer from aside, and the wedge sees it from all sides.",
            "<b>Dark.</b> Read the frame's face beside the window of the thickest step, at its exposure. Line <code>dark</code>.",
            "For colours do the same with the red, green and blue pixel values, a line each: copy the lines and change <code>colour</code>. \
             Raw pictures need no curve: <code>raw</code> under how, and one line <code>screen</code> is enough.",
        ],
    ),
    (
        "meter",
        "With a light meter",
        &[
            "Lay the sensor on the frame over each window, always in the same way; write what it shows, <code>meter</code> under how, no \
             exposure. Then take the wedge out and read the screen through a window (<code>screen</code>), and at last with the screen \
             switched off (<code>dark</code>). Leave <code>screen-60</code> out: a meter sees from all sides.",
            "When the sheet is filled in: <code>lanthorn calibrate light readings.csv --project prop.toml</code>. What is learnt is used \
             by every later run. A second wedge, or a second evening, gets a sheet of its own and narrows it.",
        ],
    ),
];

const BAD: [[&str; 3]; 6] = [
    ["a thicker step as bright as a thinner one", "a slip of the line, or stray light", "read both again"],
    [
        "the same step twice, more than a quarter apart",
        "exposure or sensitivity set itself",
        "set everything by hand; leave out the slip",
    ],
    ["pixel values above 247 or below 8", "cut off or drowned", "change the exposure"],
    ["stripes across the picture", "the screen flickers", "full brightness, longer exposures"],
    ["a dark reading that is a quarter of the thickest step", "stray light", "darken the room, tape the frame"],
    [
        "the screen brighter at one end",
        "it is seen aslant, or it is uneven",
        "stand straight above; read the screen in the window of the step",
    ],
];
