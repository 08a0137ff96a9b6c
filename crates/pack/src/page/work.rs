//! When everything is done.

use super::drawing;
use crate::svg::Sheet;
use prop::outcome::Outcome;

/// The section, with the drawing of [`crate::work::draw`].
pub(crate) fn section(out: &mut String, outcome: &Outcome, sheet: Option<&Sheet>) {
    out.push_str("<section id=\"work\">\n<h2>Plan of work</h2>\n");
    let (Some(plan), Some(sheet)) = (&outcome.work, sheet) else {
        out.push_str("<p>Nothing is planned. Write [plan] with a start in the project file, and every job gets its day.</p>\n</section>\n");
        return;
    };
    let date = plan.event.map_or_else(String::new, |e| format!(" for {}", plan.day_text(e * 24 * 60)));
    out.push_str(&format!(
        "<p>{} jobs, {:.0} hours of hands, begun on {} and finished on {}{date}. Take them along as \
         <a href=\"work/plan.csv\">a table</a> or into <a href=\"work/plan.ics\">your calendar</a>. When jobs are done, say so with \
         [done.\"NAME\"] and build again: the rest is planned from there.</p>\n</section>\n",
        plan.jobs.len(),
        plan.hands_min() as f64 / 60.0,
        plan.day_text(0),
        plan.day_text(plan.finish_min)
    ));
    drawing(out, "plan-view", "Day by day", "drawings/plan.svg", sheet);
}
