//! Values put into the project's text by the page: comments and layout stay.

use crate::changed::{found, set, take};
use serde::{Deserialize, Serialize};
use toml_edit::{Array, DocumentMut, InlineTable, Item, Key, Value};

/// One value at one place.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(deny_unknown_fields)]
pub(crate) struct Edit {
    /// Where, dotted as in the file: `body."upper shaft".wall`.
    pub(crate) key: String,
    /// What is to stand there; `null` takes the key out.
    #[cfg_attr(test, ts(type = "unknown"))]
    pub(crate) value: serde_json::Value,
}

/// The same place was changed twice.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Conflict"))]
pub(crate) struct Clash {
    key: String,
    yours: Option<String>,
    theirs: Option<String>,
    base: Option<String>,
}

/// The text with the edits, and each as it is told; what is wrong in words.
pub(crate) fn edited(text: &str, edits: &[Edit]) -> Result<(String, Vec<String>), String> {
    let mut document =
        text.parse::<DocumentMut>().map_err(|e| format!("the file does not read as TOML: {}", e.message()))?;
    let mut told = Vec::new();
    for edit in edits {
        let path = path(&edit.key)?;
        if edit.value.is_null() {
            take(document.as_item_mut(), &path);
            told.push(format!("{} taken out", edit.key));
            continue;
        }
        let value =
            toml(&edit.value).ok_or_else(|| format!("{}: a value is a text, a number, a flag or a list", edit.key))?;
        let shown = set(document.as_item_mut(), &path, value).map_err(|e| format!("{}: {e}", edit.key))?;
        told.push(format!("{} = {shown}", edit.key));
    }
    Ok((document.to_string(), told))
}

/// Edits of places that are no longer as they were when the page saw them. `before` is the text that it saw, if that is known.
pub(crate) fn clashes(before: Option<&str>, now: &str, edits: &[Edit]) -> Vec<Clash> {
    let [seen, there] = [before, Some(now)].map(|text| text.and_then(|t| t.parse::<DocumentMut>().ok()));
    edits
        .iter()
        .filter_map(|edit| {
            let path = path(&edit.key).ok()?;
            let [base, theirs] = [&seen, &there].map(|d| d.as_ref().and_then(|d| at(d.as_item(), &path)));
            let yours = toml(&edit.value).map(|v| plain(&Item::Value(v)));
            let is_same = (seen.is_some() && base == theirs) || yours == theirs;
            (!is_same).then(|| Clash { key: edit.key.clone(), yours, theirs, base })
        })
        .collect()
}

/// What stands at a key, as text without outer quotes.
pub(crate) fn value_at(text: &str, key: &str) -> Option<String> {
    at(text.parse::<DocumentMut>().ok()?.as_item(), &path(key).ok()?)
}

fn at(root: &Item, path: &[Key]) -> Option<String> {
    found(root, path).map(plain)
}

/// Without quotes, and without the remark that follows it.
fn plain(item: &Item) -> String {
    match item {
        Item::Value(Value::String(text)) => text.value().clone(),
        Item::Value(value) => value.clone().decorated("", "").to_string(),
        other => other.to_string().trim().to_owned(),
    }
}

fn path(key: &str) -> Result<Vec<Key>, String> {
    Key::parse(key).map_err(|_| format!("{key:?} is no key such as wearer.height"))
}

fn toml(value: &serde_json::Value) -> Option<Value> {
    Some(match value {
        serde_json::Value::Null => return None,
        serde_json::Value::Bool(flag) => Value::from(*flag),
        serde_json::Value::Number(number) => match number.as_i64() {
            Some(whole) => Value::from(whole),
            None => Value::from(number.as_f64()?),
        },
        serde_json::Value::String(text) => Value::from(text.as_str()),
        serde_json::Value::Array(items) => Value::Array(items.iter().map(toml).collect::<Option<Array>>()?),
        serde_json::Value::Object(map) => {
            let table: Option<InlineTable> = map.iter().map(|(k, v)| Some((k.as_str(), toml(v)?))).collect();
            Value::InlineTable(table?)
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    const TEXT: &str = "# mine\n[prop]\nname = \"Axe\"   # its name\n\n[body.\"long blade\"]\nwall = \"2 mm\" # printed\n\n# mine too\n[cuts]\nlock = [\"5 cm\"]\n";

    fn edit(key: &str, value: serde_json::Value) -> Edit {
        Edit { key: key.to_owned(), value }
    }

    #[test]
    fn comments_and_layout_stay() {
        let edits = [
            edit("body.\"long blade\".wall", json!("2.4 mm")),
            edit("light.rows", json!(2)),
            edit("cuts.lock", serde_json::Value::Null),
            edit("cuts.shift", json!([{ "joint": 2, "by": "6 mm" }])),
        ];
        let (text, told) = edited(TEXT, &edits).unwrap();
        assert_eq!(
            text,
            "# mine\n[prop]\nname = \"Axe\"   # its name\n\n[body.\"long blade\"]\nwall = \"2.4 mm\" # printed\n\n# mine too\n[cuts]\nshift = [{ by = \"6 mm\", joint = 2 }]\n\n[light]\nrows = 2\n",
            "{text}"
        );
        assert_eq!(told[..3], ["body.\"long blade\".wall = \"2.4 mm\"", "light.rows = 2", "cuts.lock taken out"]);
        // What is taken out again leaves nothing behind.
        let (again, _) = edited(&text, &[edit("light.rows", serde_json::Value::Null)]).unwrap();
        assert!(!again.contains("light"), "{again}");
        for (key, value) in
            [("prop", json!(1)), ("a..b", json!(1)), ("prop.name", json!([null])), ("prop.name.x", json!(1))]
        {
            assert!(edited(TEXT, &[edit(key, value)]).is_err(), "{key}");
        }
        assert!(edited("[", &[]).is_err());
    }

    /// Everything that a control changes, with remarks wherever TOML lets one stand.
    const REMARKED: &str = r#"# The axe of the night watch.

[prop]
name = "Axe"   # as it is called
# For the club.
inches = true# or not

[light] # both edges
  # Indented as the maker likes it.
  rows   = 2 # one each side
levels = 'full' # or even

[body.blade]
wall = "2 mm" # printed
# Whichever is free.
printers = [
  "wide", # at home
  "tall",
] # both

# The end.
"#;

    #[test]
    fn remarks_and_layout_survive_every_kind_of_edit() {
        let cases = [
            ("light.rows", json!(3), ("rows   = 2", "rows   = 3")),
            ("prop.inches", json!(false), ("inches = true#", "inches = false#")),
            ("prop.name", json!("Sea axe"), ("\"Axe\"", "\"Sea axe\"")),
            ("body.blade.wall", json!("2.4 mm"), ("\"2 mm\"", "\"2.4 mm\"")),
            ("light.levels", json!("even"), ("'full'", "\"even\"")),
            ("light.strip", json!("dense"), ("or even\n", "or even\nstrip = \"dense\"\n")),
            ("body.blade.wall", json!(null), ("wall = \"2 mm\" # printed\n", "# printed\n")),
            (
                "prop.inches",
                json!(null),
                (
                    "as it is called\n# For the club.\ninches = true# or not",
                    "as it is called\n# For the club.\n# or not",
                ),
            ),
            ("light.rows", json!(null), ("rows   = 2 # one each side\n", "# one each side\n")),
        ];
        for (key, value, (old, new)) in cases {
            let (text, _) = edited(REMARKED, &[edit(key, value)]).unwrap();
            assert!(REMARKED.contains(old), "{key}");
            assert_eq!(text, REMARKED.replacen(old, new, 1), "{key}");
            // What was written reads, and shows what was put there.
            text.parse::<DocumentMut>().unwrap();
        }
        // A list is one value: remarks between its items go with the items, the one behind it stays.
        let (text, _) = edited(REMARKED, &[edit("body.blade.printers", json!(["tall"]))]).unwrap();
        assert!(text.contains("# Whichever is free.\nprinters = [\"tall\"] # both\n\n# The end.\n"), "{text}");
        // A table whose last key goes keeps its remarks, and itself.
        let emptied = [edit("light.rows", json!(null)), edit("light.levels", json!(null))];
        let (text, _) = edited(REMARKED, &emptied).unwrap();
        for remark in ["[light] # both edges", "# Indented as the maker likes it.", "# one each side", "# or even"] {
            assert!(text.contains(remark), "{remark}: {text}");
        }
        text.parse::<DocumentMut>().unwrap();
    }

    #[test]
    fn a_remark_behind_a_value_is_no_part_of_it() {
        for (key, value) in
            [("light.rows", "2"), ("prop.inches", "true"), ("prop.name", "Axe"), ("light.levels", "full")]
        {
            assert_eq!(value_at(REMARKED, key).as_deref(), Some(value), "{key}");
        }
        let printers = value_at(REMARKED, "body.blade.printers").unwrap();
        assert!(printers.starts_with('[') && printers.ends_with(']'), "{printers}");
        // Nor does a changed remark alone make a conflict.
        let theirs = REMARKED.replace("one each side", "two sides");
        assert_eq!(clashes(Some(REMARKED), &theirs, &[edit("light.rows", json!(3))]), []);
    }

    #[test]
    fn only_the_same_place_clashes() {
        let wall = || [edit("body.\"long blade\".wall", json!("3 mm"))];
        let theirs = TEXT.replace("2 mm", "2.2 mm");
        assert_eq!(clashes(Some(TEXT), TEXT, &wall()), []);
        assert_eq!(clashes(Some(TEXT), &TEXT.replace("Axe", "Sea axe"), &wall()), []);
        let found = clashes(Some(TEXT), &theirs, &wall());
        let [Clash { yours, theirs: there, base, .. }] = &found[..] else { panic!("{found:?}") };
        assert_eq!([yours, there, base].map(|v| v.as_deref()), [Some("3 mm"), Some("2.2 mm"), Some("2 mm")]);
        assert_eq!(clashes(Some(TEXT), &TEXT.replace("2 mm", "3 mm"), &wall()), [], "both want the same");
        assert_eq!(clashes(None, TEXT, &wall()).len(), 1, "what the page saw is not known");
    }
}
