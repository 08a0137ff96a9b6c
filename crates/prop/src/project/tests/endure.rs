//! Any text is either a project or a list of mistakes.

use super::*;
use proptest::prelude::*;

/// Never a panic, never an empty list of mistakes, every place inside the text; rendering holds too.
fn endures(text: &str) {
    let catalogue = Catalogue::built_in();
    if let Err(said) = parse(text, &catalogue) {
        assert!(!said.0.is_empty());
        for d in &said.0 {
            assert!(d.span.as_ref().is_none_or(|s| s.start <= s.end && text.get(s.clone()).is_some()), "{d:?}");
            assert!(!d.message.is_empty() && !d.help.is_empty(), "{d:?}");
        }
        assert!(said.render("prop.toml", text).lines().count() >= 2 * said.0.len());
    }
}

proptest! {
    #[test]
    fn any_text_is_endured(text in "\\PC*|[\\[\\]{}=\"'#.,a-z0-9 \n\\\\-]*") {
        endures(&text);
    }

    /// A valid file with pieces cut out, doubled, or replaced.
    #[test]
    fn mutated_files_are_endured(cuts in proptest::collection::vec((0usize..FULL.len(), 0usize..40, "[\\[\\]{}=\"'#.,a-z0-9 \n-]{0,3}"), 1..6)) {
        let mut text = FULL.to_owned();
        for (at, length, put) in cuts {
            let at = at.min(text.len());
            let end = (at + length).min(text.len());
            text.replace_range(at..end, &put);
        }
        endures(&text);
    }

    /// A valid file with one value after another replaced by something of another kind.
    #[test]
    fn other_values_are_endured(line in 0usize..90, value in "[0-9]{1,25}|true|\\[\\]|\\{\\}|\"[ -!#-\\[\\]-~]{0,8}\"|-?[0-9]\\.[0-9]e9|1979-05-27|inf|nan") {
        let mut lines: Vec<String> = FULL.lines().map(str::to_owned).collect();
        if let Some((key, _)) = lines.get(line).and_then(|l| l.split_once(" = ")) {
            lines[line] = format!("{key} = {value}");
        }
        endures(&lines.join("\n"));
    }
}
