//! The accent colour and whether it can be read on white paper.

use crate::problem::{Fact, Problem};
use crate::yaml::At;

/// Least contrast of text against white.
///
/// Source: W3C, Web Content Accessibility Guidelines 2.2 (2023), success criterion 1.4.3: 4.5:1 for text.
const LEAST_CONTRAST: f64 = 4.5;

/// Reads `"#rrggbb"`, quoted because an unquoted `#` begins a comment.
pub(super) fn read(at: &At<'_>) -> Option<[u8; 3]> {
    let raw = at.raw().map(str::trim);
    if raw.is_some_and(str::is_empty) {
        at.withdraw("empty-value");
        at.tell(Problem::error(
            "accent-unquoted",
            &at.place(),
            "found an empty value",
            "without quotes # begins a comment, and the colour behind it is lost",
            "quote it: accent: \"#1f5a6b\", with your own six digits",
        ));
        return None;
    }
    let typed = at.name()?;
    let Some(colour) = colour(&typed.text) else {
        let fix = meant(&typed.text).unwrap_or_else(|| "\"#1f5a6b\"".to_owned());
        at.tell(Problem::error(
            "accent-colour",
            &typed.place,
            format!("found `{}`", typed.text),
            "a colour is written as # and six hexadecimal digits for red, green and blue, in quotes",
            format!("write {fix}"),
        ));
        return None;
    };
    let contrast = contrast_with_white(colour);
    if contrast < LEAST_CONTRAST {
        // Cut, not rounded, so that 4.4999 is not printed as 4.50.
        let shown = (contrast * 100.0).floor() / 100.0;
        at.tell(
            Problem::warning(
                "accent-contrast",
                &typed.place,
                format!("found `{}`, which has a contrast of {shown:.2}:1 against white", typed.text),
                format!("text in it is hard to read on paper: {LEAST_CONTRAST}:1 is the least (WCAG 2.2, 1.4.3)"),
                "take a darker shade of the colour",
            )
            .about([("colour", Fact::text(&typed.text)), ("contrast", Fact::number(shown, 2, ""))]),
        );
    }
    Some(colour)
}

fn colour(text: &str) -> Option<[u8; 3]> {
    let digits = text.strip_prefix('#')?;
    if digits.len() != 6 || !digits.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return None;
    }
    let channel = |from: usize| u8::from_str_radix(&digits[from..from + 2], 16).ok();
    Some([channel(0)?, channel(2)?, channel(4)?])
}

/// `1f5a6b` and `#abc` as they should be written.
fn meant(text: &str) -> Option<String> {
    let digits = text.strip_prefix('#').or(text.strip_prefix("0x")).unwrap_or(text);
    let full = match digits.len() {
        3 => digits.chars().flat_map(|digit| [digit, digit]).collect(),
        _ => digits.to_owned(),
    };
    colour(&format!("#{full}")).map(|_| format!("\"#{full}\""))
}

/// Contrast of a colour (sRGB) against white, 1 to 21.
///
/// Source: W3C, Web Content Accessibility Guidelines 2.2 (2023), definitions of «relative luminance» and «contrast ratio»:
/// (L₁ + 0.05)/(L₂ + 0.05) with L = 0.2126·R + 0.7152·G + 0.0722·B and each channel linear below 0.04045.
fn contrast_with_white(colour: [u8; 3]) -> f64 {
    let linear = |channel: u8| {
        let c = f64::from(channel) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    };
    let [red, green, blue] = colour.map(linear);
    1.05 / (0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05)
}

#[cfg(test)]
mod tests {
    use super::{colour, contrast_with_white, meant};
    use crate::firm::tests::{error, read, warning};

    /// Contrast ratios as listed by W3C, Understanding WCAG 2.2 and its techniques: black 21:1, #767676 is the lightest
    /// grey that reaches 4.5:1 (4.54), #777777 does not (4.48).
    #[test]
    fn contrast_is_that_of_the_guidelines() {
        for (colour, expected) in [([0, 0, 0], 21.0), ([0x76; 3], 4.54), ([0x77; 3], 4.48), ([255; 3], 1.0)] {
            assert!((contrast_with_white(colour) - expected).abs() < 0.005, "{colour:?}");
        }
    }

    #[test]
    fn a_colour_is_six_digits_behind_a_hash() {
        assert_eq!(colour("#1f5A6b"), Some([0x1f, 0x5a, 0x6b]));
        for text in ["1f5a6b", "#1f5a6", "#1f5a6bf", "#1f5a6g", "#é5a6b", "teal", "#+1+1+1"] {
            assert_eq!(colour(text), None, "{text}");
        }
    }

    #[test]
    fn a_colour_without_quotes_is_a_comment() {
        let told = read("accent: #1f5a6b\npaper: A4\n").1;
        let fix = "quote it: accent: \"#1f5a6b\", with your own six digits";
        assert_eq!(told, error("accent-unquoted", told[0].2, told[0].3, fix), "nothing more is said of one slip");
    }

    #[test]
    fn another_notation_is_refused_with_the_colour() {
        assert_eq!(read("accent: 1f5a6b").1, error("accent-colour", 1, 9, "write \"#1f5a6b\""));
        assert_eq!(read("accent: \"#abc\"").1, error("accent-colour", 1, 9, "write \"#aabbcc\""));
        assert_eq!(read("accent: teal").1, error("accent-colour", 1, 9, "write \"#1f5a6b\""));
    }

    #[test]
    fn a_pale_accent_is_a_warning_with_its_ratio() {
        let (firm, told) = read("accent: \"#777777\"");
        assert_eq!(told, warning("accent-contrast", 1, 9, "take a darker shade of the colour"));
        assert_eq!(firm.map(|f| f.accent), Some([0x77; 3]));
        assert_eq!(read("accent: \"#767676\"").1, []);
        let tree = crate::yaml::read("firm.yaml", b"accent: \"#777777\"").expect("a tree");
        super::read(&tree.root().keys("a file").and_then(|mut k| k.get("accent")).expect("accent"));
        assert_eq!(tree.problems()[0].what, "found `#777777`, which has a contrast of 4.47:1 against white");
    }

    #[test]
    fn what_was_meant_is_spelt_out() {
        assert_eq!(meant("1f5a6b").as_deref(), Some("\"#1f5a6b\""));
        assert_eq!(meant("#fa0").as_deref(), Some("\"#ffaa00\""));
        assert_eq!(meant("teal"), None);
    }
}
