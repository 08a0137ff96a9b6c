//! What the book says, before it is a page on a screen or pages on paper: chapters of blocks, and texts of runs.

use crate::svg::Sheet;
use crate::words;
use prop::finding::Verdict;
use serde::Serialize;

/// A stretch of text.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "is", rename_all = "lowercase")]
pub(crate) enum Run {
    Plain {
        text: String,
    },
    Strong {
        text: String,
    },
    Code {
        text: String,
    },
    /// Something beside the matter.
    Quiet {
        text: String,
    },
    /// A file of the pack, by its path.
    File {
        text: String,
        path: String,
    },
    /// A place in the book, by its id.
    Place {
        text: String,
        id: String,
    },
    /// The rest begins a line.
    Line,
}

/// A text in a line or a paragraph.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub(crate) struct Text(pub(crate) Vec<Run>);

impl Text {
    pub(crate) fn new() -> Text {
        Text::default()
    }

    fn with(mut self, run: Run) -> Text {
        self.0.push(run);
        self
    }

    pub(crate) fn plain(self, text: impl Into<String>) -> Text {
        self.with(Run::Plain { text: text.into() })
    }

    pub(crate) fn strong(self, text: impl Into<String>) -> Text {
        self.with(Run::Strong { text: text.into() })
    }

    pub(crate) fn code(self, text: impl Into<String>) -> Text {
        self.with(Run::Code { text: text.into() })
    }

    pub(crate) fn quiet(self, text: impl Into<String>) -> Text {
        self.with(Run::Quiet { text: text.into() })
    }

    pub(crate) fn file(self, text: impl Into<String>, path: impl Into<String>) -> Text {
        self.with(Run::File { text: text.into(), path: path.into() })
    }

    pub(crate) fn place(self, text: impl Into<String>, id: impl Into<String>) -> Text {
        self.with(Run::Place { text: text.into(), id: id.into() })
    }

    pub(crate) fn line(self) -> Text {
        self.with(Run::Line)
    }

    /// Several, with ", " between them.
    pub(crate) fn listed(texts: impl IntoIterator<Item = Text>) -> Text {
        let mut all = Text::new();
        for (k, text) in texts.into_iter().enumerate() {
            if k > 0 {
                all = all.plain(", ");
            }
            all.0.extend(text.0);
        }
        all
    }
}

impl From<&str> for Text {
    fn from(text: &str) -> Text {
        Text::new().plain(text)
    }
}

impl From<String> for Text {
    fn from(text: String) -> Text {
        Text::new().plain(text)
    }
}

/// A row of a table: its first cell names it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Row {
    /// Id of its place, where something leads there.
    pub(crate) id: Option<String>,
    pub(crate) cells: Vec<Text>,
}

impl From<Vec<String>> for Row {
    fn from(cells: Vec<String>) -> Row {
        Row { id: None, cells: cells.into_iter().map(Text::from).collect() }
    }
}

/// A table; one without rows is not shown.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Table {
    pub(crate) name: String,
    /// The same as a list for a spreadsheet.
    pub(crate) file: Option<String>,
    pub(crate) caption: String,
    pub(crate) columns: Vec<String>,
    pub(crate) rows: Vec<Row>,
}

impl Table {
    pub(crate) fn new(
        name: &str,
        file: Option<&str>,
        caption: impl Into<String>,
        columns: &[&str],
        rows: impl IntoIterator<Item = impl Into<Row>>,
    ) -> Table {
        Table {
            name: name.to_owned(),
            file: file.map(str::to_owned),
            caption: caption.into(),
            columns: columns.iter().map(|c| (*c).to_owned()).collect(),
            rows: rows.into_iter().map(Into::into).collect(),
        }
    }
}

/// A picture that lies in the pack as a file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Picture {
    pub(crate) file: String,
    /// What it shows, for who cannot see it.
    pub(crate) alt: String,
    /// Empty: none.
    pub(crate) caption: String,
}

/// A drawing that stands in the book.
#[derive(Clone, Copy)]
pub(crate) struct Drawing<'a> {
    pub(crate) heading: &'a str,
    /// Its path in the pack.
    pub(crate) file: &'a str,
    pub(crate) sheet: &'a Sheet,
    /// The same for paper, in parts that each fit a page; none: as it is.
    pub(crate) parts: &'a [Sheet],
}

/// A finding in words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Entry {
    #[serde(serialize_with = "verdict")]
    pub(crate) verdict: Verdict,
    /// What it is about, and where.
    pub(crate) subject: Text,
    pub(crate) message: String,
    /// Empty: nothing is to do.
    pub(crate) remedy: String,
    /// "Measured 2 mm; limit at least 1 mm (common practice)."
    pub(crate) measured: String,
    pub(crate) id: String,
}

fn verdict<S: serde::Serializer>(verdict: &Verdict, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_str(words::verdict(*verdict))
}

/// Something with a picture and facts in words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Card {
    pub(crate) id: String,
    /// What it is called: "03", and where that leads.
    pub(crate) name: Text,
    pub(crate) picture: Picture,
    /// Word and text, in the order of the columns.
    pub(crate) facts: Vec<(String, Text)>,
}

/// One thing to do at the bench.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Step {
    /// 1, 2, ...
    pub(crate) number: usize,
    /// Job in the plan.
    pub(crate) job: String,
    /// What cannot be undone, and what must be sure before; empty: nothing of the kind.
    pub(crate) stop: String,
    pub(crate) action: Text,
    /// What is to be found before going on, with a number.
    pub(crate) check: String,
    /// When, and how long.
    pub(crate) when: String,
    pub(crate) picture: Picture,
}

/// What a chapter is made of.
pub(crate) enum Block<'a> {
    Text(Text),
    /// What stands beside the matter.
    Quiet(Text),
    /// A list of such things.
    List(Vec<Text>),
    /// What must be minded.
    Cautions(Vec<Text>),
    /// A heading below the chapter's.
    Heading {
        id: String,
        title: String,
    },
    Table(Table),
    Drawing(Drawing<'a>),
    Pictures(Vec<Picture>),
    /// Those that do not hold, and those that do.
    Findings([Vec<Entry>; 2]),
    Cards {
        caption: String,
        cards: Vec<Card>,
    },
    Steps(Vec<Step>),
}

/// A chapter with the id of its place.
pub(crate) struct Chapter<'a> {
    pub(crate) id: &'static str,
    /// In the list of places.
    pub(crate) short: &'static str,
    pub(crate) title: String,
    pub(crate) blocks: Vec<Block<'a>>,
}

/// What stands in front.
pub(crate) struct Cover {
    pub(crate) title: String,
    /// The prop lit and unlit.
    pub(crate) pictures: Vec<Picture>,
    pub(crate) facts: Vec<(&'static str, String)>,
    /// Findings by verdict: class, count and word.
    pub(crate) tally: Vec<(Verdict, usize)>,
    /// Author, licence, credits.
    pub(crate) imprint: String,
    /// Who is named as the author, for the file itself.
    pub(crate) authors: Vec<String>,
    pub(crate) input_hash: String,
}

/// All of it.
pub(crate) struct Book<'a> {
    pub(crate) cover: Cover,
    pub(crate) chapters: Vec<Chapter<'a>>,
    /// Data in the pack that stand in no chapter.
    pub(crate) files: Vec<(String, String)>,
    /// Whether paper is in inches, as lengths are.
    pub(crate) inches: bool,
}
