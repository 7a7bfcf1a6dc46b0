//! The word that was probably meant.

/// The candidate nearest to `word`, only when it is close: one slip in a short word, two or three in a long one.
/// Capital letters do not count, two letters exchanged count as one slip.
///
/// # Examples
/// ```
/// assert_eq!(halfcell::yaml::nearest("acid saok", ["acid soak", "pepsin soak"]), Some("acid soak"));
/// assert_eq!(halfcell::yaml::nearest("Wiped", ["wiped", "rinsed"]), Some("wiped"));
/// assert_eq!(halfcell::yaml::nearest("polish", ["wiped", "rinsed"]), None);
/// ```
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let folded = fold(word);
    let length = folded.chars().count();
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let other = fold(candidate);
        let allowed = match other.chars().count().min(length) {
            0..=1 => 0,
            2..=4 => 1,
            5..=8 => 2,
            _ => 3,
        };
        // Long texts cannot be near: the distance is not worked out for them.
        if length.abs_diff(other.chars().count()) > allowed {
            continue;
        }
        let distance = strsim::osa_distance(&folded, &other);
        if distance <= allowed && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Small letters; dashes, underscores and spaces are one.
fn fold(word: &str) -> String {
    word.trim()
        .chars()
        .flat_map(char::to_lowercase)
        .map(|c| if matches!(c, '-' | '_' | '\u{2013}') { ' ' } else { c })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::nearest;

    const KEYS: [&str; 6] = ["as_found", "as_left", "remedies", "tag", "in", "mv"];

    #[test]
    fn close_words_are_found() {
        for (typed, meant) in [
            ("as-found", "as_found"),
            ("asfound", "as_found"),
            ("AS_LEFT", "as_left"),
            ("remedeis", "remedies"),
            ("tga", "tag"),
            ("mV", "mv"),
        ] {
            assert_eq!(nearest(typed, KEYS), Some(meant), "{typed}");
        }
    }

    #[test]
    fn far_words_are_not() {
        for typed in ["lot", "x", "", "shown", "found"] {
            assert_eq!(nearest(typed, KEYS), None, "{typed}");
        }
    }

    #[test]
    fn of_two_close_words_the_closer_is_taken() {
        assert_eq!(
            nearest("calomel 3 mol/L", ["calomel 1 mol/L", "calomel 3.5 mol/L", "calomel 3 mol/l"]),
            Some("calomel 3 mol/l")
        );
    }
}
