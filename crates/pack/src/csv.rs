//! Comma-separated lines as RFC 4180 writes them.

/// A field, quoted where it must be. A leading `#` counts as a remark in our own sheets, so that is quoted too.
pub(crate) fn quoted(field: &str) -> String {
    if field.contains([',', '"', '\n', '\r', '#']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

/// A line with its end.
pub(crate) fn line<S: AsRef<str>>(fields: &[S]) -> String {
    let fields: Vec<String> = fields.iter().map(|f| quoted(f.as_ref())).collect();
    format!("{}\n", fields.join(","))
}
