//! How the prop glows: pictures and the drawing of each window.

use super::drawing;
use super::parts::table;
use crate::html::escape;
use crate::svg::Sheet;
use crate::words::short;
use prop::outcome::Outcome;

/// The section, with the drawings (and their paths) of [`crate::light::draw`].
pub(crate) fn section(out: &mut String, outcome: &Outcome, sheets: &[(String, Sheet)]) {
    out.push_str("<section id=\"light\">\n<h2>Light</h2>\n");
    let Some(light) = &outcome.light else {
        out.push_str("<p>The light was not followed.</p>\n</section>\n");
        return;
    };
    out.push_str(&format!(
        "<p>Seen from {} m, in white. Each picture's file says its exposure. The numbers are in \
         <a href=\"light/response.json\">light</a>.</p>\n<div class=\"lit\">\n",
        short(light.viewed_mm / 1000.0, 1)
    ));
    for (file, caption) in crate::light::captions() {
        out.push_str(&format!(
            "<figure><img src=\"light/{file}.png\" alt=\"{} {caption}\" loading=\"lazy\"><figcaption>{caption}</figcaption></figure>\n",
            escape(&outcome.prop)
        ));
    }
    out.push_str("</div>\n");
    let caption = "What would make windows more even: each change tried by itself on a short stretch of the prop.";
    let (name, file) = ("Changes that were tried", "light/choices.csv");
    table(out, name, file, caption, &crate::light::COLUMNS, crate::light::rows(light));
    out.push_str("</section>\n");
    for (k, (path, sheet)) in sheets.iter().enumerate() {
        let heading = format!("Light of the window {}", escape(light.name(&light.profiles[k])));
        drawing(out, &format!("light-view-{}", k + 1), &heading, path, sheet);
    }
}
