//! Names that look alike to a reader but are different texts.

use crate::problem::{Fact, Problem};
use crate::yaml::{At, Text};
use std::collections::HashMap;
use unicode_normalization::UnicodeNormalization;

/// A name as the eye takes it: composed Unicode, lower case, every dash a hyphen, every space a plain one. Two names
/// with the same likeness are easily taken for each other.
///
/// ```
/// use halfcell::client::look_alike;
/// assert_eq!(look_alike("PH\u{2013}101"), look_alike("ph-101"));
/// assert_eq!(look_alike("A\u{30a}-1"), look_alike("Å-1"));
/// assert_ne!(look_alike("PH-101"), look_alike("PH-102"));
/// ```
pub fn look_alike(name: &str) -> String {
    let plain = |c: char| match c {
        '\u{2010}'..='\u{2015}' | '\u{2212}' | '\u{2043}' | '\u{fe58}' | '\u{fe63}' | '\u{ff0d}' => '-',
        c if c.is_whitespace() => ' ',
        c => c,
    };
    name.nfkc().map(plain).flat_map(char::to_lowercase).nfc().collect()
}

/// Warns of every tag that looks like an earlier one without being the same text.
pub(super) fn tell_look_alikes<'a>(at: &At<'_>, tags: impl Iterator<Item = &'a Text>) {
    let mut seen: HashMap<String, &Text> = HashMap::new();
    for tag in tags {
        match seen.entry(look_alike(&tag.text)).or_insert(tag) {
            earlier if earlier.text != tag.text => at.tell(look_alike_tag(tag, earlier)),
            _ => {}
        }
    }
}

fn look_alike_tag(tag: &Text, earlier: &Text) -> Problem {
    Problem::warning(
        "look-alike-tag",
        &tag.place,
        format!("found `{}`, which looks like `{}` in line {}", tag.text, earlier.text, earlier.place.line),
        "the two differ only in capitals, kind of dash or space, or composition of a letter, which a reader does not see",
        format!("if one loop is meant, write {} and remove one entry; if two, rename one", earlier.text),
    ).about([("tag", Fact::text(&tag.text)), ("other", Fact::text(&earlier.text))])
}
