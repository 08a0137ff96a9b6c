//! Values for one build alone, put into the project's text: the same prop for somebody else.

use anyhow::{Result, anyhow, bail};
use toml_edit::{Decor, DocumentMut, Item, Key, Table, TableLike, Value};

/// The project's text with what was said in place of, or besides, what it says; and each change as it is told.
///
/// A key is dotted (`wearer.height`, `body."long blade".wall`). A value is as in the file, and need not be quoted: `182 cm`.
/// Whether there is such a key, and whether its value will do, is found where the text is read.
pub(crate) fn changed(text: &str, said: &[String]) -> Result<(String, Vec<String>)> {
    if said.is_empty() {
        return Ok((text.to_owned(), Vec::new()));
    }
    // What is wrong with the text itself is told where it is read.
    let Ok(mut document) = text.parse::<DocumentMut>() else { return Ok((text.to_owned(), Vec::new())) };
    let mut told = Vec::new();
    for one in said {
        let (key, value) = one
            .split_once('=')
            .ok_or_else(|| anyhow!("--for {one:?}: give a key and its value, such as \"wearer.height = 182 cm\""))?;
        let path = Key::parse(key.trim())
            .map_err(|_| anyhow!("--for {one:?}: {:?} is no key such as wearer.height", key.trim()))?;
        if value.trim().is_empty() {
            bail!("--for {one:?}: the value is missing, such as \"wearer.height = 182 cm\"");
        }
        let shown = put(document.as_item_mut(), &path, value.trim()).map_err(|e| anyhow!("--for {one:?}: {e}"))?;
        told.push(format!("{} = {shown}", key.trim()));
    }
    Ok((document.to_string(), told))
}

/// Puts a value at a path, as it is said on a command line; tables that are not there yet are made.
fn put(root: &mut Item, path: &[Key], value: &str) -> Result<String> {
    let is_text = found(root, path).is_some_and(Item::is_str);
    let value = match value.parse::<Value>() {
        // Dates stand in quotes in a project.
        Ok(read) if !read.is_datetime() && (read.is_str() || !is_text) => read,
        _ => Value::from(value),
    };
    set(root, path, value)
}

/// What stands at a path.
pub(crate) fn found<'d>(root: &'d Item, path: &[Key]) -> Option<&'d Item> {
    path.iter().try_fold(root, |at, key| at.as_table_like()?.get(key.get()))
}

/// Puts a value at a path and gives it as it is told; tables that are not there yet are made, and a remark behind the value stays.
pub(crate) fn set(root: &mut Item, path: &[Key], mut value: Value) -> Result<String> {
    let [tables @ .., last] = path else { bail!("there is no key") };
    if tables.is_empty() {
        bail!("{:?} is a table: say which key of it, such as {}.height", last.get(), last.get());
    }
    let mut at = root;
    for key in tables {
        let Some(table) = at.as_table_like_mut() else { bail!("what {:?} is looked for in is no table", key.get()) };
        at = table.entry_format(key).or_insert_with(|| Item::Table(Table::new()));
    }
    let Some(table) = at.as_table_like_mut() else {
        bail!("{:?} is no table, so it has no key {:?}", tables.last().map_or("", Key::get), last.get())
    };
    if table.get(last.get()).is_some_and(|item| item.is_table() || item.is_array_of_tables()) {
        bail!("{:?} is a table: say which key of it", last.get());
    }
    value.decor_mut().clear();
    let shown = value.to_string().trim().to_owned();
    let old = table.entry_format(last).or_insert(Item::None);
    if let Some(old) = old.as_value() {
        value.decor_mut().clone_from(old.decor());
    }
    *old = Item::Value(value);
    Ok(shown)
}

/// Takes a key out, and with it tables that then hold nothing, not even a remark; remarks above it and behind it stay. Whether it
/// was there.
pub(crate) fn take(root: &mut Item, path: &[Key]) -> bool {
    let [first, rest @ ..] = path else { return false };
    let Some(table) = root.as_table_like_mut() else { return false };
    if rest.is_empty() {
        let said = remarks(table, first.get());
        let names: Vec<String> = table.iter().map(|(name, _)| name.to_owned()).collect();
        let Some(at) = names.iter().position(|name| name == first.get()) else { return false };
        table.remove(first.get());
        if let Some(said) = said {
            leave(root, &said, &names[..at], &names[at + 1..]);
        }
        return true;
    }
    let Some(inner) = table.get_mut(first.get()) else { return false };
    let taken = take(inner, rest);
    let is_said = inner.as_table().is_some_and(|t| text_of(t.decor()).iter().any(|s| s.contains('#')));
    if taken && inner.as_table_like().is_some_and(|t| t.is_empty()) && !is_said {
        table.remove(first.get());
    }
    taken
}

/// What stands before and behind something.
fn text_of(decor: &Decor) -> [&str; 2] {
    [decor.prefix(), decor.suffix()].map(|side| side.and_then(|s| s.as_str()).unwrap_or_default())
}

/// The lines above a key that have a remark, and the one behind its value as a line of its own.
fn remarks(table: &dyn TableLike, name: &str) -> Option<String> {
    let (key, item) = table.get_key_value(name)?;
    let [above, _] = text_of(key.leaf_decor());
    let [_, behind] = item.as_value().map(|v| text_of(v.decor())).unwrap_or_default();
    let line = if behind.contains('#') { format!("{}\n", behind.trim()) } else { String::new() };
    (above.contains('#') || !line.is_empty()).then(|| format!("{above}{line}"))
}

/// Leaves remarks where their key was: above the next one, behind the one before, or under the table's head.
fn leave(root: &mut Item, said: &str, before: &[String], after: &[String]) {
    let Some(table) = root.as_table_like_mut() else { return };
    let is_value = |table: &dyn TableLike, name: &str| table.get(name).is_some_and(Item::is_value);
    if let Some(next) = after.iter().find(|name| is_value(table, name)) {
        if let Some(mut key) = table.key_mut(next) {
            let prefix = format!("{said}{}", text_of(key.leaf_decor())[0]);
            key.leaf_decor_mut().set_prefix(prefix);
        }
        return;
    }
    let last = before.iter().rev().find(|name| is_value(table, name)).cloned();
    let decor = match last.as_deref().and_then(|name| table.get_mut(name)?.as_value_mut()) {
        Some(value) => value.decor_mut(),
        None => match root.as_table_mut() {
            Some(table) => table.decor_mut(),
            None => return,
        },
    };
    let suffix = format!("{}\n{}", text_of(decor)[1], said.trim_end());
    decor.set_suffix(suffix);
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# mine\n[prop]\nname = \"Axe\" # the name\n[body.\"long blade\"]\nwall = \"2 mm\"\n[light]\nrows = 2\nfade = { least = 1 }\n";

    fn said(words: &[&str]) -> Result<(String, Vec<String>)> {
        changed(TEXT, &words.iter().map(|w| (*w).to_owned()).collect::<Vec<_>>())
    }

    #[test]
    fn values_are_put_where_they_belong() {
        let (text, told) =
            said(&["wearer.height = 182 cm", "prop.name=\"Sea axe\"", "body.\"long blade\".wall = 3 mm"]).unwrap();
        assert!(text.contains("[wearer]\nheight = \"182 cm\"") && text.contains("name = \"Sea axe\""), "{text}");
        assert!(text.contains("[body.\"long blade\"]\nwall = \"3 mm\"") && text.starts_with("# mine\n"), "{text}");
        assert_eq!(
            told,
            ["wearer.height = \"182 cm\"", "prop.name = \"Sea axe\"", "body.\"long blade\".wall = \"3 mm\""]
        );
        assert!(text.contains("name = \"Sea axe\" # the name"), "the maker's remark stays: {text}");
        // Numbers, flags and lists as they are; a text stays one, and a date becomes one.
        let (text, _) = said(&[
            "light.rows = 3",
            "prop.inches = true",
            "cuts.lock = [\"5 cm\"]",
            "prop.name = 12",
            "plan.event = 2027-02-03",
            "light.fade.least = 2",
        ])
        .unwrap();
        for wanted in
            ["rows = 3\n", "inches = true", "lock = [\"5 cm\"]", "name = \"12\"", "event = \"2027-02-03\"", "least = 2"]
        {
            assert!(text.contains(wanted), "{wanted}: {text}");
        }
        assert_eq!(said(&[]).unwrap().0, TEXT);
    }

    #[test]
    fn what_is_no_key_with_a_value_is_refused() {
        for (word, wanted) in [
            ("wearer.height", "a key and its value"),
            ("wearer.height =", "the value is missing"),
            ("wearer..height = 1 m", "is no key"),
            ("wearer = 1 m", "is a table"),
            ("= 1 m", "is no key"),
            ("prop.name.first = a", "\"name\" is no table"),
            ("body.\"long blade\" = a", "is a table"),
        ] {
            let error = said(&[word]).unwrap_err().to_string();
            assert!(error.contains(wanted) && error.contains("--for"), "{word}: {error}");
        }
    }
}
