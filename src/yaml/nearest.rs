//! The word that was probably meant.

/// What people say for a word of the files. Only a suggestion comes of it: nothing has two spellings.
///
/// Source: common practice, no source.
const ALSO_SAID: &[(&str, &str)] = &[
    ("asymmetry", "offset"),
    ("buffers", "standards"),
    ("diaphragm cleaned", "junction cleaned"),
    ("diaphragm replaced", "junction renewed"),
    ("efficiency", "slope"),
    ("eh", "redox"),
    ("electrode", "probe"),
    ("electrode replaced", "probe replaced"),
    ("electrolyte replaced", "reference solution replaced"),
    ("junction replaced", "junction renewed"),
    ("orp", "redox"),
    ("salt bridge replaced", "junction renewed"),
    ("sensor", "probe"),
    ("sensor replaced", "probe replaced"),
    ("transmitter", "analyser"),
];

/// Candidates that are looked at; no list that people keep by hand is longer.
const MAX_CANDIDATES: usize = 2000;

/// The first names of a long list: `a, b, c and 12 more`.
pub fn few<'a>(names: impl Iterator<Item = &'a str>) -> String {
    let mut names = names.fuse();
    let first: Vec<&str> = names.by_ref().take(20).collect();
    match names.count() {
        0 => first.join(", "),
        more => format!("{} and {more} more", first.join(", ")),
    }
}

/// The candidate nearest to `word`, only when it is close: one slip in a short word, two or three in a long one; else the
/// only candidate that begins with it, or the one that people also call so. Capital letters do not count, two letters
/// exchanged count as one slip.
///
/// # Examples
/// ```
/// assert_eq!(halfcell::yaml::nearest("acid saok", ["acid soak", "pepsin soak"]), Some("acid soak"));
/// assert_eq!(halfcell::yaml::nearest("Wiped", ["wiped", "rinsed"]), Some("wiped"));
/// assert_eq!(halfcell::yaml::nearest("acid", ["acid soak", "pepsin soak"]), Some("acid soak"));
/// assert_eq!(halfcell::yaml::nearest("ORP", ["pH", "redox"]), Some("redox"));
/// assert_eq!(halfcell::yaml::nearest("polish", ["wiped", "rinsed"]), None);
/// ```
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let candidates: Vec<&str> = candidates.into_iter().take(MAX_CANDIDATES).collect();
    closest(word, &candidates).or_else(|| begun(word, &candidates)).or_else(|| also_said(word, &candidates))
}

/// The only candidate of several words that begins with these.
fn begun<'a>(word: &str, candidates: &[&'a str]) -> Option<&'a str> {
    let start = fold(word) + " ";
    let mut begun = candidates.iter().filter(|candidate| fold(candidate).starts_with(&start));
    let first = begun.next().filter(|_| start.len() > 3)?;
    begun.next().is_none().then_some(*first)
}

fn also_said<'a>(word: &str, candidates: &[&'a str]) -> Option<&'a str> {
    let said = fold(word);
    let (_, meant) = ALSO_SAID.iter().find(|(known, _)| *known == said)?;
    candidates.iter().find(|candidate| *candidate == meant).copied()
}

fn closest<'a>(word: &str, candidates: &[&'a str]) -> Option<&'a str> {
    let folded = fold(word);
    let length = folded.chars().count();
    let mut best: Option<(usize, &str)> = None;
    for &candidate in candidates {
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
    use super::{few, nearest};

    #[test]
    fn a_long_list_of_names_has_an_end() {
        assert_eq!(few(["B4", "B7"].into_iter()), "B4, B7");
        assert_eq!(few([].into_iter()), "");
        let all = vec!["x"; 23];
        assert!(few(all.into_iter()).ends_with("x, x and 3 more"));
    }

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
