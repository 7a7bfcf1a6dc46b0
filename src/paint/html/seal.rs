//! The seal of a page: its own SHA-256, so that whoever has nothing but the page sees that a digit was changed.
//!
//! Comes in: a page as painted. Goes out: the page with its seal; later, whether a seal holds.
//!
//! What is hashed is the whole file with 64 zeros in the place of the seal. Whoever changes a page can seal it anew: only a
//! register shows that it is the original.

use super::markup::Markup;
use crate::source::hash_of;

/// What stands before the seal.
const BEFORE: &str = "<meta name=\"page-sha256\" content=\"";
/// Digits of a seal.
const DIGITS: usize = 64;

/// The place of the seal in a page that is not sealed yet.
pub(super) fn open() -> Markup {
    Markup { markup: format!("{BEFORE}{}\">", "0".repeat(DIGITS)) }
}

/// The page with its seal.
pub(super) fn sealed(mut page: String) -> String {
    if let Some(begin) = page.find(BEFORE).map(|at| at + BEFORE.len()) {
        let seal = hash_of(page.as_bytes());
        page.replace_range(begin..begin + DIGITS, &seal);
    }
    page
}

/// Whether the seal of a page holds; none where it has no seal.
pub fn holds(page: &str) -> Option<bool> {
    let begin = page.find(BEFORE)? + BEFORE.len();
    let seal = page.get(begin..begin + DIGITS)?;
    let mut open = page.as_bytes().to_vec();
    open[begin..begin + DIGITS].fill(b'0');
    Some(hash_of(&open) == seal)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seal_holds_until_a_digit_is_changed() {
        let page = sealed(format!("<head>{}</head><p>97.2 %", open().markup));
        assert_eq!(holds(&page), Some(true));
        assert_eq!(holds(&page.replace("97.2", "97.3")), Some(false));
        assert_eq!(holds("<p>97.2 %"), None);
    }
}
