//! What was laid out, read back by a PDF reader that is not the writer's (the `hayro-syntax` crate).

use super::*;
use hayro_syntax::Pdf;
use hayro_syntax::object::{Array, Dict, Name, Object, Stream};

fn facts() -> Facts {
    Facts {
        title: "A \"try\" \\ with signs".to_owned(),
        authors: vec!["Somebody".to_owned()],
        description: String::new(),
        ident: "0001".to_owned(),
    }
}

fn set(main: &str) -> Result<Vec<u8>, TypesetError> {
    pdf(&Manuscript::new(facts(), main))
}

fn read(bytes: Vec<u8>) -> Pdf {
    Pdf::new(bytes).expect("a file that can be read")
}

/// All dictionaries of a file, those of streams too.
fn dicts(pdf: &Pdf) -> Vec<Dict<'_>> {
    fn of<'a>(o: Object<'a>) -> Option<Dict<'a>> {
        match o {
            Object::Dict(d) => Some(d),
            Object::Stream(s) => Some(s.dict().clone()),
            _ => None,
        }
    }
    pdf.objects().into_iter().filter_map(of).collect()
}

fn kind(dict: &Dict<'_>) -> String {
    dict.get::<Name<'_>>("Type").map(|n| n.as_str().to_owned()).unwrap_or_default()
}

/// ISO 216: 210 x 297 mm; 1 point is 25.4/72 mm (ISO 32000-1, 8.3.2.3). US Letter is 8.5 x 11 in.
#[test]
fn pages_have_the_size_that_was_asked() {
    for (paper, size_mm) in [("a4", [210.0, 297.0]), ("us-letter", [215.9, 279.4])] {
        let file = read(set(&format!("#set page(paper: \"{paper}\")\nOne\n#pagebreak()\nTwo")).expect("it lays out"));
        assert_eq!(file.pages().len(), 2);
        for page in file.pages().iter() {
            let b = page.media_box();
            let found = [b.x1 - b.x0, b.y1 - b.y0].map(|points| points * 25.4 / 72.0);
            assert!((0..2).all(|i| (found[i] - size_mm[i]).abs() < 1e-3), "{paper}: {found:?}");
        }
    }
}

#[test]
fn the_same_manuscript_gives_the_same_bytes() {
    let main = "= Head\n#figure(image(\"d.svg\", alt: \"a box\"), caption: [Box])\n#table(columns: 2, table.header[a][b], [1], [2])";
    let make = || {
        let mut m = Manuscript::new(facts(), main);
        m.add("d.svg", SVG);
        pdf(&m).expect("it lays out")
    };
    let first = make();
    assert!(first == make() && first.starts_with(b"%PDF-1.7"));
    let other = Facts { ident: "0002".to_owned(), ..facts() };
    assert!(set("a") != pdf(&Manuscript::new(other, "a")), "another document has another identifier");
}

const SVG: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"40mm\" height=\"20mm\" viewBox=\"0 0 40 20\">\
    <style>text { font-family: system-ui, 'Nowhere Sans', sans-serif; font-size: 4px; font-weight: 600 }</style>\
    <rect width=\"40\" height=\"20\" fill=\"none\" stroke=\"#000\"/><text x=\"2\" y=\"8\">J1 \u{202f}mm \u{6728}</text></svg>";

#[test]
fn every_font_is_embedded_also_that_of_drawings() {
    let mut m =
        Manuscript::new(facts(), "Text, _leaning_, *strong*, `code`, \u{2714}\n#image(\"d.svg\", alt: \"a box\")");
    m.add("d.svg", SVG);
    let file = read(pdf(&m).expect("it lays out"));
    let all = dicts(&file);
    let fonts: Vec<&Dict<'_>> = all.iter().filter(|d| kind(d) == "FontDescriptor").collect();
    let names: Vec<String> =
        fonts.iter().filter_map(|d| d.get::<Name<'_>>("FontName").map(|n| n.as_str().to_owned())).collect();
    for wanted in ["LibertinusSerif-Regular", "LibertinusSerif-Italic", "LibertinusSerif-Semibold", "DejaVuSansMono"] {
        assert!(names.iter().any(|n| n.ends_with(wanted)), "{wanted} in {names:?}");
    }
    for font in fonts {
        let file = font.get::<Stream<'_>>("FontFile2").or_else(|| font.get::<Stream<'_>>("FontFile3"));
        assert!(file.is_some_and(|f| f.decoded().is_ok_and(|bytes| bytes.len() > 200)), "{names:?}");
    }
    // A font that is used is one of those described.
    let used = all.iter().filter(|d| kind(d) == "Font" && d.contains_key("DescendantFonts")).count();
    assert_eq!(used, names.len());
}

/// ISO 14289-1, 5 and 7.1: the identifier in the metadata, a structure tree, `Marked`; ISO 32000-1, 12.3.3: the outline.
#[test]
fn a_document_is_tagged_and_has_an_outline() {
    let file = read(set("= One\nText\n== Two\nMore\n= Three").expect("it lays out"));
    let all = dicts(&file);
    let catalog = all.iter().find(|d| kind(d) == "Catalog").expect("a catalogue");
    assert_eq!(catalog.get::<Dict<'_>>("MarkInfo").and_then(|m| m.get::<bool>("Marked")), Some(true));
    assert!(catalog.get::<Dict<'_>>("StructTreeRoot").is_some_and(|t| t.contains_key("K")));
    let outline = catalog.get::<Dict<'_>>("Outlines").expect("an outline");
    // Those that show as it is opened: the level below is folded away.
    assert_eq!(outline.get::<i32>("Count"), Some(2));
    let metadata = catalog.get::<Stream<'_>>("Metadata").and_then(|s| s.decoded().ok()).expect("metadata");
    let text = String::from_utf8_lossy(&metadata);
    assert!(
        text.contains("<pdfuaid:part>1</pdfuaid:part>") && text.contains("A &quot;try&quot; \\ with signs"),
        "{text}"
    );
    assert!(!text.contains("CreateDate"), "no clock");
    assert!(catalog.get::<Array<'_>>("OutputIntents").is_none());
}

#[test]
fn mistakes_name_their_file_and_line() {
    let layout = |result: Result<Vec<u8>, TypesetError>| match result {
        Err(TypesetError::Layout(mistakes)) => mistakes,
        other => panic!("{other:?}"),
    };
    let unknown = layout(set("One\n\n#image(\"not-there.svg\", alt: \"x\")"));
    assert_eq!((unknown[0].file.as_deref(), unknown[0].line), (Some(MAIN), Some(3)));
    assert!(unknown[0].message.contains("not-there.svg"), "{}", unknown[0].message);

    let mut m = Manuscript::new(facts(), "#import \"part.typ\": head\n#head()");
    m.add("part.typ", "\n#let head() = nothing");
    let wrong = layout(pdf(&m));
    assert_eq!((wrong[0].file.as_deref(), wrong[0].line), (Some("part.typ"), Some(2)));

    let broken = layout({
        let mut m = Manuscript::new(facts(), "#json(\"data.json\")");
        m.add("data.json", "{\n \"a\": ]");
        pdf(&m)
    });
    assert!(broken[0].to_string().contains("data.json"), "{}", broken[0]);
    // Packages, other fonts and the day are not there.
    layout(set("#import \"@preview/anything:1.0.0\": x"));
    layout(set("#set text(font: \"Nowhere Sans\")\nText"));
    layout(set("#datetime.today().display()"));
}

#[test]
fn what_not_everybody_can_read_is_refused() {
    let export = |result: Result<Vec<u8>, TypesetError>| match result {
        Err(TypesetError::Export(mistakes)) => mistakes,
        other => panic!("{other:?}"),
    };
    let mut m = Manuscript::new(facts(), "One\n#image(\"d.svg\")");
    m.add("d.svg", SVG);
    let dumb = export(pdf(&m));
    assert_eq!(dumb[0].line, Some(2), "{}", dumb[0]);
    export(set("= One\n=== Three"));
    export(pdf(&Manuscript::new(Facts { title: String::new(), ..facts() }, "Text")));
}

#[test]
fn signs_that_no_font_has_are_shown_as_such() {
    assert_eq!(
        legible("Blatt ä ² × \u{202f}mm \u{2714} \u{6728}\u{1f5e1}"),
        "Blatt ä ² × \u{202f}mm \u{2714} \u{fffd}\u{fffd}"
    );
    set("Name: \u{6728}\u{1f5e1}").expect("it lays out");
}
