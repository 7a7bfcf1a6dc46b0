//! Markup that was written here, apart from text that a person wrote.
//!
//! Only a [`Markup`] reaches the page as it is; every plain text in the template's context is escaped by the template.

use handlebars::{Context, Handlebars, Helper, HelperResult, Output, RenderContext, RenderErrorReason};
use serde::Serialize;

/// The one field of a [`Markup`] in the template's context.
const FIELD: &str = "markup";

/// Text that is already HTML (or CSS).
#[derive(Debug, Clone, Default, Serialize)]
pub struct Markup {
    /// The markup.
    pub markup: String,
}

/// Writes a text of the document as HTML text or as the value of a quoted attribute.
pub fn text(out: &mut String, text: &str) {
    let mut done = 0;
    for (at, byte) in text.bytes().enumerate() {
        let entity = match byte {
            b'&' => "&amp;",
            b'<' => "&lt;",
            b'>' => "&gt;",
            b'"' => "&quot;",
            b'\'' => "&#39;",
            _ => continue,
        };
        out.push_str(&text[done..at]);
        out.push_str(entity);
        done = at + 1;
    }
    out.push_str(&text[done..]);
}

/// Writes `<name>`, the text, `</name>` and a line feed.
pub fn element(out: &mut String, name: &str, content: &str) {
    out.push('<');
    out.push_str(name);
    out.push('>');
    text(out, content);
    out.push_str("</");
    out.push_str(name);
    out.push_str(">\n");
}

/// The template helper `{{markup field}}`: writes a [`Markup`] as it is and refuses everything else.
pub fn write(
    helper: &Helper,
    _: &Handlebars,
    _: &Context,
    _: &mut RenderContext,
    out: &mut dyn Output,
) -> HelperResult {
    let markup = helper
        .param(0)
        .and_then(|given| given.value().get(FIELD))
        .and_then(|markup| markup.as_str())
        .ok_or_else(|| RenderErrorReason::Other("only markup is written as it is".into()))?;
    out.write(markup)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn every_character_that_means_something_to_a_browser_is_escaped() {
        let mut out = String::new();
        text(&mut out, "a<b> & \"c\" 'd' Å");
        assert_eq!(out, "a&lt;b&gt; &amp; &quot;c&quot; &#39;d&#39; Å");
    }

    #[test]
    fn plain_text_never_passes_as_markup() {
        let mut templates = Handlebars::new();
        templates.register_helper("markup", Box::new(write));
        let render = |context| templates.render_template("{{markup it}}", &context);
        let given = Markup { markup: "<hr>".into() };
        assert_eq!(render(json!({ "it": given })).unwrap(), "<hr>");
        assert!(render(json!({ "it": "<hr>" })).is_err());
    }
}
