//! Text that may hold anything, made safe for XML and HTML.

/// `text` with the characters that mean something in markup written as references. Control characters that XML 1.0
/// forbids even as references (section 2.2, Char) are shown as the replacement character.
pub(crate) fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            '\t' | '\n' => safe.push(c),
            '\u{0}'..='\u{1f}' | '\u{7f}' | '\u{fffe}' | '\u{ffff}' => safe.push('\u{fffd}'),
            _ => safe.push(c),
        }
    }
    safe
}

/// `name` as part of a link: everything but unreserved characters of RFC 3986 (section 2.3) percent-encoded as UTF-8.
pub(crate) fn link(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_is_defused() {
        assert_eq!(escape("a<b> & \"c\" 'd' \u{1}ö"), "a&lt;b&gt; &amp; &quot;c&quot; &#39;d&#39; \u{fffd}ö");
        assert_eq!(link("03-blatt & ü"), "03-blatt%20%26%20%C3%BC");
    }
}
