//! How the prop glows: pictures and the drawing of each window.

use super::model::{Block, Chapter, Drawing, Picture, Table, Text};
use crate::svg::Sheet;
use crate::words::short;
use prop::outcome::Outcome;

/// The chapter, with the drawings (and their paths) of [`crate::light::draw`].
pub(super) fn chapter<'a>(outcome: &'a Outcome, sheets: &'a [(String, Sheet)]) -> Chapter<'a> {
    let mut blocks = Vec::new();
    if let Some(light) = &outcome.light {
        let text = format!(
            "Seen from {} m, in white. Each picture's file says its exposure. The numbers are in ",
            short(light.viewed_mm / 1000.0, 1)
        );
        blocks.push(Block::Text(Text::from(text).file("light", "light/response.json").plain(".")));
        let pictures = crate::light::captions().map(|(file, caption)| Picture {
            file: format!("light/{file}.png"),
            alt: format!("{} {caption}", outcome.prop),
            caption,
        });
        blocks.push(Block::Pictures(pictures.collect()));
        let caption = "What would make windows more even: each change tried by itself on a short stretch of the prop.";
        blocks.push(Block::Table(Table::new(
            "Changes that were tried",
            Some("light/choices.csv"),
            caption,
            &crate::light::COLUMNS,
            crate::light::rows(light),
        )));
        for (k, (file, sheet)) in sheets.iter().enumerate() {
            let heading = light.name(&light.profiles[k]);
            blocks.push(Block::Heading {
                id: format!("light-view-{}", k + 1),
                title: format!("Light of the window {heading}"),
            });
            blocks.push(Block::Drawing(Drawing { heading, file, sheet, parts: &[] }));
        }
    } else {
        blocks.push(Block::Text("The light was not followed.".into()));
    }
    Chapter { id: "light", short: "Light", title: "Light".into(), blocks }
}
