//! The comparison as text and as a page.

use super::read::Told;
use super::{Row, Section};
use crate::book::page_css;
use crate::html::escape;

/// What one of the two is: its prop, for whom, and its inputs.
fn about(told: &Told) -> String {
    let Some(file) = &told.findings else { return "a pack without findings.json".to_owned() };
    let mut said = vec![file.prop.clone()];
    if !file.changed.is_empty() {
        said.push(format!("with {}", file.changed.join(", ")));
    }
    said.push(format!("inputs {}", file.input_hash.get(..12).unwrap_or(&file.input_hash)));
    said.join(", ")
}

fn verdict(told: &[Told; 2], sections: &[Section]) -> String {
    let hash = |k: usize| told[k].findings.as_ref().map(|f| f.input_hash.as_str()).filter(|h| !h.is_empty());
    let count: usize = sections.iter().map(|s| s.rows.len()).sum();
    match (hash(0), hash(1)) {
        (Some(a), Some(b)) if a == b && count == 0 => {
            "The two were made from the same inputs, and nothing differs.".to_owned()
        }
        _ => format!("{count} thing{} differ{}.", if count == 1 { "" } else { "s" }, if count == 1 { "s" } else { "" }),
    }
}

pub(super) fn text(names: [&String; 2], told: &[Told; 2], sections: &[Section], missing: &[String]) -> String {
    let mut out = String::new();
    for (word, (name, told)) in ["before", "after"].iter().zip(names.into_iter().zip(told)) {
        out += &format!("{word}: {name} ({})\n", about(told));
    }
    out += &format!("{}\n", verdict(told, sections));
    for section in sections {
        out += &format!("\n{}\n", section.heading);
        if section.rows.is_empty() {
            out += &format!("  {}\n", section.none);
        }
        for Row { what, before, after, change } in &section.rows {
            out += &format!("  {what}: {before} -> {after}");
            out += &if change.is_empty() { "\n".to_owned() } else { format!("; {change}\n") };
        }
    }
    if !missing.is_empty() {
        out += "\nMissing\n";
        missing.iter().for_each(|line| out += &format!("  {line}\n"));
    }
    out
}

pub(super) fn page(names: [&String; 2], told: &[Told; 2], sections: &[Section], missing: &[String]) -> String {
    let title = format!("What changed: {} and {}", names[0], names[1]);
    let mut out = String::from("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    out += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n";
    out += "<meta name=\"color-scheme\" content=\"light dark\">\n";
    out += &format!("<title>{}</title>\n<style>\n{}</style>\n</head>\n<body>\n", escape(&title), page_css());
    out += "<header>\n<h1>What changed</h1>\n<dl class=\"facts\">\n";
    for (word, (name, told)) in ["Before", "After"].iter().zip(names.into_iter().zip(told)) {
        out += &format!("<div><dt>{word}: {}</dt><dd>{}</dd></div>\n", escape(name), escape(&about(told)));
    }
    out += &format!("</dl>\n<p>{}</p>\n</header>\n<main>\n", escape(&verdict(told, sections)));
    for section in sections {
        out += &format!("<section>\n<h2>{}</h2>\n", section.heading);
        if section.rows.is_empty() {
            out += &format!("<p>{}</p>\n", section.none);
        } else {
            out += &table(section);
        }
        out += "</section>\n";
    }
    if !missing.is_empty() {
        let lines: Vec<String> = missing.iter().map(|line| format!("<li>{}</li>", escape(line))).collect();
        out += &format!("<section>\n<h2>Missing</h2>\n<ul>\n{}\n</ul>\n</section>\n", lines.join("\n"));
    }
    out += "</main>\n</body>\n</html>\n";
    out
}

fn table(section: &Section) -> String {
    let heading = section.heading;
    let mut out = format!(
        "<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"{heading}, scrolls sideways\">\n<table>\n<thead><tr><th \
         scope=\"col\">What</th><th scope=\"col\">Before</th><th scope=\"col\">After</th><th scope=\"col\">Change</th></tr></thead>\n<tbody>\n"
    );
    for Row { what, before, after, change } in &section.rows {
        let cells: String = [before, after, change].iter().map(|cell| format!("<td>{}</td>", escape(cell))).collect();
        out += &format!("<tr><th scope=\"row\">{}</th>{cells}</tr>\n", escape(what));
    }
    out + "</tbody>\n</table>\n</div>\n"
}
