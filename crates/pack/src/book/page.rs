//! The book as `index.html`: one page that shows the whole pack, without script and without network.

use super::model::{Block, Book, Card, Chapter, Drawing, Entry, Picture, Row, Run, Step, Table, Text};
use crate::html::{escape, link};
use crate::look::{self, DARK, PAPER, Palette};
use crate::words;
use prop::finding::Verdict;

/// The page.
pub(super) fn page(book: &Book) -> String {
    let mut out = String::with_capacity(1 << 18);
    out.push_str("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    out.push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    out.push_str("<meta name=\"color-scheme\" content=\"light dark\">\n");
    out.push_str(&format!("<title>{}: build book</title>\n", escape(&book.cover.title)));
    out.push_str(&format!("<style>\n{}{}</style>\n</head>\n<body>\n", page_css(), look::drawing_css()));
    out.push_str("<a class=\"skip\" href=\"#findings\">To the findings</a>\n");
    head(&mut out, book);
    out.push_str("<main>\n");
    book.chapters.iter().for_each(|c| chapter(&mut out, c));
    out.push_str("</main>\n<footer>\n");
    let links: Vec<String> = book.files.iter().map(|(f, w)| format!("<a href=\"{f}\">{w}</a>")).collect();
    out.push_str(&format!("<p>{}</p>\n", links.join(" · ")));
    if !book.cover.imprint.is_empty() {
        out.push_str(&format!("<p id=\"imprint\">{}</p>\n", escape(&book.cover.imprint)));
    }
    out.push_str(&format!("<p class=\"quiet\">Inputs <code>{}</code></p>\n", escape(&book.cover.input_hash)));
    out.push_str("</footer>\n</body>\n</html>\n");
    out
}

/// The rules of every page.
pub(crate) fn page_css() -> String {
    let vars = |p: &Palette| {
        format!(
            "--ink:{};--paper:{};--slate:{};--brick:{};--rule:{};--box:{}",
            p.ink, p.paper, p.slate, p.brick, p.rule, p.box_ground
        )
    };
    format!(
        ":root {{ {} }}\n@media screen and (prefers-color-scheme: dark) {{ :root {{ {} }} }}\n{}",
        vars(&PAPER),
        vars(&DARK),
        include_str!("page.css")
    )
}

fn head(out: &mut String, book: &Book) {
    let cover = &book.cover;
    out.push_str(&format!("<header>\n<h1>{}</h1>\n", escape(&cover.title)));
    if !cover.pictures.is_empty() {
        pictures(out, &cover.pictures);
    }
    out.push_str("<dl class=\"facts\">\n");
    for (word, value) in &cover.facts {
        out.push_str(&format!("<div><dt>{word}</dt><dd>{}</dd></div>\n", escape(value)));
    }
    out.push_str("</dl>\n");
    let tally: Vec<String> = cover
        .tally
        .iter()
        .map(|(v, count)| format!("<li class=\"{}\">{count} {}</li>", mark(*v, *count), words::verdicts(*v, *count)))
        .collect();
    out.push_str(&format!("<ul class=\"tally\" aria-label=\"Findings by verdict\">\n{}\n</ul>\n", tally.join("\n")));
    let places = book.chapters.iter().map(|c| format!("<li><a href=\"#{}\">{}</a></li>", c.id, c.short));
    let mut places: Vec<String> = places.collect();
    places.push("<li><a href=\"book.pdf\">The same as a book to print</a></li>".to_owned());
    out.push_str(&format!("<nav aria-label=\"On this page\"><ul>\n{}\n</ul></nav>\n</header>\n", places.join("\n")));
}

/// Class of a count: that nothing fails, or is unsure, is good news and gets a tick.
pub(super) fn mark(verdict: Verdict, count: usize) -> &'static str {
    match (verdict, count) {
        (Verdict::Fails | Verdict::Unsure, 0) => words::verdict(Verdict::Holds),
        _ => words::verdict(verdict),
    }
}

fn chapter(out: &mut String, chapter: &Chapter) {
    out.push_str(&format!("<section id=\"{}\">\n<h2>{}</h2>\n", chapter.id, escape(&chapter.title)));
    chapter.blocks.iter().for_each(|b| block(out, b));
    out.push_str("</section>\n");
}

fn block(out: &mut String, block: &Block) {
    match block {
        Block::Text(text) => out.push_str(&format!("<p>{}</p>\n", runs(text))),
        Block::Quiet(text) => out.push_str(&format!("<p class=\"quiet\">{}</p>\n", runs(text))),
        Block::List(items) | Block::Cautions(items) => {
            let items: Vec<String> = items.iter().map(|i| format!("<li>{}</li>\n", runs(i))).collect();
            out.push_str(&format!("<ul>\n{}</ul>\n", items.concat()));
        }
        Block::Heading { id, title } => out.push_str(&format!("<h3 id=\"{id}\">{}</h3>\n", escape(title))),
        Block::Table(t) => table(out, t),
        Block::Drawing(d) => drawing(out, d),
        Block::Pictures(p) => pictures(out, p),
        Block::Findings(all) => findings(out, all),
        Block::Cards { caption, cards } => self::cards(out, caption, cards),
        Block::Steps(all) => {
            out.push_str("<ol class=\"steps\">\n");
            all.iter().for_each(|s| step(out, s));
            out.push_str("</ol>\n");
        }
    }
}

/// A path of the pack as a link.
fn href(path: &str) -> String {
    path.split('/').map(link).collect::<Vec<_>>().join("/")
}

fn runs(text: &Text) -> String {
    let one = |run: &Run| match run {
        Run::Plain { text } => escape(text),
        Run::Strong { text } => format!("<b>{}</b>", escape(text)),
        Run::Code { text } => format!("<code>{}</code>", escape(text)),
        Run::Quiet { text } => format!("<span class=\"quiet\">{}</span>", escape(text)),
        Run::File { text, path } => format!("<a href=\"{}\">{}</a>", href(path), escape(text)),
        Run::Place { text, id } => format!("<a href=\"#{id}\">{}</a>", escape(text)),
        Run::Line => "<br>".to_owned(),
    };
    text.0.iter().map(one).collect()
}

/// What may be wider than the window scrolls by itself.
fn wide(out: &mut String, name: &str, inner: &str) {
    out.push_str(&format!(
        "<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"{}, scrolls sideways\">\n{inner}</div>\n",
        escape(name)
    ));
}

fn drawing(out: &mut String, d: &Drawing) {
    out.push_str(&format!(
        "<p class=\"quiet\"><a href=\"{}\">The drawing as a file</a>, to scale when printed at full size.</p>\n",
        href(d.file)
    ));
    wide(out, d.heading, &d.sheet.to_inline());
}

fn table(out: &mut String, t: &Table) {
    if t.rows.is_empty() {
        return;
    }
    if let Some(file) = &t.file {
        let name = escape(&t.name);
        out.push_str(&format!(
            "<p class=\"quiet\"><a href=\"{}\">{name} as a list for a spreadsheet</a></p>\n",
            href(file)
        ));
    }
    let mut inner = format!("<table>\n<caption>{}</caption>\n<thead><tr>", escape(&t.caption));
    inner.extend(t.columns.iter().map(|c| format!("<th scope=\"col\">{}</th>", escape(c))));
    inner.push_str("</tr></thead>\n<tbody>\n");
    for Row { id, cells } in &t.rows {
        let id = id.as_ref().map(|id| format!(" id=\"{id}\"")).unwrap_or_default();
        let mut cells = cells.iter().map(runs);
        let first = cells.next().unwrap_or_default();
        inner.push_str(&format!("<tr{id}><th scope=\"row\">{first}</th>"));
        inner.extend(cells.map(|c| format!("<td>{c}</td>")));
        inner.push_str("</tr>\n");
    }
    inner.push_str("</tbody>\n</table>\n");
    wide(out, &t.name, &inner);
}

fn pictures(out: &mut String, pictures: &[Picture]) {
    out.push_str("<div class=\"lit\">\n");
    for Picture { file, alt, caption } in pictures {
        out.push_str(&format!(
            "<figure><img src=\"{}\" alt=\"{}\" loading=\"lazy\"><figcaption>{}</figcaption></figure>\n",
            href(file),
            escape(alt),
            escape(caption)
        ));
    }
    out.push_str("</div>\n");
}

/// What does not hold, and folded away what does.
fn findings(out: &mut String, [open, holds]: &[Vec<Entry>; 2]) {
    if open.is_empty() {
        out.push_str("<p class=\"verdict holds\">Everything that was checked holds.</p>\n");
    } else {
        out.push_str("<ol class=\"findings\">\n");
        open.iter().for_each(|f| entry(out, f));
        out.push_str("</ol>\n");
    }
    if !holds.is_empty() {
        let summary = words::holding(holds.len());
        out.push_str(&format!("<details>\n<summary>{summary}</summary>\n<ol class=\"findings\">\n"));
        holds.iter().for_each(|f| entry(out, f));
        out.push_str("</ol>\n</details>\n");
    }
}

fn entry(out: &mut String, f: &Entry) {
    out.push_str(&format!(
        "<li class=\"{}\"><p class=\"verdict\"><b>{}</b> <span>{}</span></p>\n<p>{}</p>\n",
        words::verdict(f.verdict),
        words::verdict_head(f.verdict),
        runs(&f.subject),
        escape(&f.message)
    ));
    if !f.remedy.is_empty() {
        out.push_str(&format!("<p><b>To do:</b> {}</p>\n", escape(&f.remedy)));
    }
    out.push_str(&format!("<p class=\"quiet\">{} <code>{}</code></p></li>\n", escape(&f.measured), escape(&f.id)));
}

/// On a narrow screen each row becomes a card; the roles keep it a table for readers that speak it.
fn cards(out: &mut String, caption: &str, cards: &[Card]) {
    let Some(first) = cards.first() else { return };
    out.push_str(&format!(
        "<table class=\"cards\" role=\"table\">\n<caption>{}</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">",
        escape(caption)
    ));
    let columns = ["Piece", "Picture"].into_iter().chain(first.facts.iter().map(|(word, _)| word.as_str()));
    for column in columns {
        out.push_str(&format!("<th role=\"columnheader\" scope=\"col\">{column}</th>"));
    }
    out.push_str("</tr></thead>\n<tbody role=\"rowgroup\">\n");
    for card in cards {
        let (file, alt) = (href(&card.picture.file), escape(&card.picture.alt));
        out.push_str(&format!(
            "<tr role=\"row\" id=\"{}\"><th role=\"rowheader\" scope=\"row\">{}</th>\
             <td role=\"cell\" class=\"picture\" data-word=\"Picture\"><div><a href=\"{file}\"><img src=\"{file}\" width=\"900\" \
             height=\"700\" loading=\"lazy\" alt=\"{alt}\"></a></div></td>",
            card.id,
            runs(&card.name)
        ));
        for (word, text) in &card.facts {
            let class = match word.as_str() {
                "Stations" | "Mass" | "Time" => " class=\"figures\"",
                _ => "",
            };
            out.push_str(&format!("<td role=\"cell\"{class} data-word=\"{word}\"><div>{}</div></td>", runs(text)));
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n");
}

fn step(out: &mut String, s: &Step) {
    out.push_str(&format!("<li id=\"step-{}\">\n", s.number));
    let (file, alt) = (href(&s.picture.file), escape(&s.picture.alt));
    out.push_str(&format!("<img src=\"{file}\" alt=\"{alt}\" loading=\"lazy\">\n<div>\n"));
    if !s.stop.is_empty() {
        out.push_str(&format!("<p class=\"stop\"><b>Stop.</b> {}</p>\n", escape(&s.stop)));
    }
    out.push_str(&format!(
        "<p><span class=\"number\">{}</span> {}</p>\n<p class=\"check\"><b>Check:</b> {}</p>\n<p class=\"quiet\">{}</p>\n</div></li>\n",
        s.number,
        runs(&s.action),
        escape(&s.check),
        escape(&s.when)
    ));
}
