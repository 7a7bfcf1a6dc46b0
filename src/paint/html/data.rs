//! The record as data within the page: what a program reads where a person reads the blocks.

use super::markup::Markup;

/// JSON as the content of `<script type="application/json">`, which no browser runs; none where there is none.
///
/// A JSON reader gets what it would get from `json` itself: only inside strings can the characters stand that are
/// written as escapes here.
///
/// Source: WHATWG, HTML Living Standard, section 4.12.1.3, «Restrictions for contents of script elements»: `<!--`,
/// `<script` and `</script` are to be written with `\x3C` or the like; IETF, RFC 8259 (2017), section 7: `\u003c`.
pub fn inert(json: &str) -> Option<Markup> {
    let mut markup = String::with_capacity(json.len() + 64);
    let mut rest = json;
    while let Some(at) = rest.find(['<', '\u{2028}', '\u{2029}']) {
        let character = rest[at..].chars().next().unwrap_or_default();
        markup.push_str(&rest[..at]);
        markup.push_str(match character {
            '<' => "\\u003c",
            '\u{2028}' => "\\u2028",
            _ => "\\u2029",
        });
        rest = &rest[at + character.len_utf8()..];
    }
    markup.push_str(rest);
    (!json.is_empty()).then_some(Markup { markup })
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    #[test]
    fn no_text_closes_the_script_element_and_a_reader_gets_every_text_back() {
        let text = "</script><!--<script> \\u003c \\\\< & \u{2028}\u{2029}\u{7f} \"'` ]]> 漢 \u{0} \r\n";
        let given = json!({ text: [text, 1.5e-7, null] });
        let Markup { markup } = inert(&given.to_string()).expect("there is JSON");
        assert!(!markup.contains(['<', '\u{2028}', '\u{2029}', '\0', '\n']), "{markup}");
        assert_eq!(serde_json::from_str::<Value>(&markup).expect("it is JSON"), given);
    }

    #[test]
    fn no_record_is_no_element() {
        assert!(inert("").is_none());
    }
}
