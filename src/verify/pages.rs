//! The text of pages compared: what stands there, and what the data give.

use super::fault::{Fault, Note};
use super::read::Carried;
use crate::paint::fonts::{Face, bundled};
use similar::{Algorithm, DiffOp, capture_diff_slices_deadline};
use std::ops::Range;
use std::time::{Duration, Instant};

/// Most differences that are told.
const MOST_TOLD: usize = 40;
/// How long the shortest way from one text to the other is looked for; after that a longer one serves.
const PATIENCE: Duration = Duration::from_millis(500);

/// The pages of one version compared line by line.
pub(super) fn by_line(found: &Carried, expected: &Carried) -> Vec<Fault> {
    let (found, expected): (Vec<_>, Vec<_>) = (found.lines().collect(), expected.lines().collect());
    let mut faults = Vec::new();
    for op in differing(&texts(&found), &texts(&expected)) {
        let join = |lines: &[(usize, &str)]| lines.iter().map(|line| line.1).collect::<Vec<_>>().join(" ");
        let (old, new) = (op.old_range(), op.new_range());
        let page = page_of(&found, &expected, &op);
        let (is, due) = (&found[old], &expected[new]);
        if is.len() == due.len() {
            // Line for line, so that each is named by itself.
            let pairs = is.iter().zip(due);
            faults.extend(pairs.map(|(is, due)| printed(is.0, is.1, due.1)));
        } else {
            faults.push(printed(page, &join(is), &join(due)));
        }
        if faults.len() >= MOST_TOLD {
            break;
        }
    }
    faults
}

/// What differs within two texts, without the words they begin and end with alike.
fn printed(page: usize, found: &str, expected: &str) -> Fault {
    let (is, due): (Vec<&str>, Vec<&str>) = (found.split(' ').collect(), expected.split(' ').collect());
    let alike = |pairs: &mut dyn Iterator<Item = (&&str, &&str)>| pairs.take_while(|(a, b)| a == b).count();
    let before = alike(&mut is.iter().zip(&due));
    let least = is.len().min(due.len()) - before;
    let after = alike(&mut is.iter().rev().zip(due.iter().rev())).min(least);
    let middle = |words: &[&str]| words[before..words.len() - after].join(" ");
    match (found.is_empty(), expected.is_empty()) {
        (_, true) => Fault::PrintedMore { page, found: found.to_owned() },
        (true, _) => Fault::PrintedLess { page, expected: expected.to_owned() },
        (false, false) => match (middle(&is), middle(&due)) {
            (more, less) if less.is_empty() => Fault::PrintedMore { page, found: more },
            (more, less) if more.is_empty() => Fault::PrintedLess { page, expected: less },
            (found, expected) => Fault::Printed { page, found, expected },
        },
    }
}

/// The pages of two versions, or of one without the firm's fonts, compared word by word: a figure that stands where the
/// data give another is a fault, what is worded or ordered otherwise is not. `programs` made them: the one names the other's
/// version nowhere, nor its number of pages.
pub(super) fn by_word(found: &Carried, expected: &Carried, programs: [&str; 2]) -> (Vec<Fault>, Vec<Note>) {
    let version = |program: &str| program.rsplit(' ').next().unwrap_or_default().to_owned();
    let [is, due] = programs.map(version);
    let count = |carried: &Carried| carried.pages.len().to_string();
    let by_nature = [(is, due), (count(found), count(expected))];
    let (found, expected) = (words(found), words(expected));
    compared(&borrowed(&found), &borrowed(&expected), &by_nature)
}

fn borrowed(words: &[(usize, String)]) -> Vec<(usize, &str)> {
    words.iter().map(|(page, word)| (*page, word.as_str())).collect()
}

/// `by_nature`: words that are different in two versions, and stand for each other.
fn compared(
    found: &[(usize, &str)],
    expected: &[(usize, &str)],
    by_nature: &[(String, String)],
) -> (Vec<Fault>, Vec<Note>) {
    let (mut faults, mut notes, mut texts_otherwise) = (Vec::new(), Vec::new(), 0);
    for op in differing(&texts(found), &texts(expected)) {
        let (is, due) = (&found[op.old_range()], &expected[op.new_range()]);
        let page = page_of(found, expected, &op);
        let join = |words: &[(usize, &str)]| words.iter().map(|word| word.1).collect::<Vec<_>>().join(" ");
        if let ([is], [due]) = (is, due)
            && by_nature.iter().any(|(a, b)| a == is.1 && b == due.1)
        {
            continue;
        }
        let is_figure = |word: &&(usize, &str)| word.1.contains(|c: char| c.is_ascii_digit());
        let mut figures = is.iter().filter(is_figure).map(|word| word.1);
        let mut of_due = due.iter().filter(is_figure).map(|word| word.1);
        let are_words_alike = is.len() == due.len()
            && is.iter().zip(due).all(|(is, due)| is.1 == due.1 || is_figure(&is) && is_figure(&due));
        if are_words_alike && !is.is_empty() && faults.len() < MOST_TOLD {
            faults.push(Fault::Printed { page, found: join(is), expected: join(due) });
        } else if figures.clone().eq(of_due.clone()) || figures.all(|figure| of_due.any(|other| other == figure)) {
            texts_otherwise += 1;
        } else if notes.len() < MOST_TOLD {
            notes.push(Note::NotCompared { page, found: join(is) });
        }
    }
    if texts_otherwise > 0 {
        notes.push(Note::WordedOtherwise { texts: texts_otherwise });
    }
    (faults, notes)
}

/// The words of all pages, without characters that only a firm's fonts have.
fn words(carried: &Carried) -> Vec<(usize, String)> {
    let mut words = Vec::new();
    for (page, line) in carried.lines() {
        for word in line.split([' ', '\u{a0}']) {
            let word: String =
                without_written_out(word).chars().filter(|&c| bundled().glyph(Face::Regular, c).is_some()).collect();
            if !word.is_empty() {
                words.push((page, word));
            }
        }
    }
    words
}

/// A word without characters that were written out, `[U+6F22]`, because no font at hand has them.
fn without_written_out(word: &str) -> String {
    let mut parts = word.split("[U+");
    let mut kept = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        match part.split_once(']') {
            Some((code, rest)) if code.bytes().all(|byte| byte.is_ascii_hexdigit()) => kept.push_str(rest),
            Some(_) | None => kept.push_str(part),
        }
    }
    kept
}

fn texts<'t>(list: &[(usize, &'t str)]) -> Vec<&'t str> {
    list.iter().map(|(_, text)| *text).collect()
}

fn differing(found: &[&str], expected: &[&str]) -> Vec<DiffOp> {
    let deadline = Some(Instant::now() + PATIENCE);
    let ops = capture_diff_slices_deadline(Algorithm::Myers, found, expected, deadline);
    ops.into_iter().filter(|op| !matches!(op, DiffOp::Equal { .. })).collect()
}

/// The page on which something differs: where it stands, else where it would stand.
fn page_of(found: &[(usize, &str)], expected: &[(usize, &str)], op: &DiffOp) -> usize {
    let first = |list: &[(usize, &str)], range: Range<usize>| {
        list.get(range.start).filter(|_| !range.is_empty()).map(|it| it.0)
    };
    first(found, op.old_range()).or_else(|| first(expected, op.new_range())).unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on_page(text: &str) -> Vec<(usize, &str)> {
        text.split(' ').map(|word| (2, word)).collect()
    }

    #[test]
    fn the_words_that_differ_are_named_without_those_around_them() {
        let fault = printed(1, "Slope found 58.2 % of", "Slope found 78.9 % of");
        assert_eq!(fault.told(), "page 1: «58.2» where the data give «78.9»");
        assert_eq!(printed(1, "a b", "a x b"), Fault::PrintedLess { page: 1, expected: "x".into() });
        assert_eq!(printed(3, "", "a"), Fault::PrintedLess { page: 3, expected: "a".into() });
    }

    #[test]
    fn between_versions_figures_count_and_words_do_not() {
        let (faults, notes) = compared(&on_page("the slope was 58.2 % here"), &on_page("a slope of 78.9 % here"), &[]);
        assert_eq!(notes[0], Note::NotCompared { page: 2, found: "was 58.2".into() });
        assert_eq!(faults, []);
        let (faults, _) = compared(&on_page("slope 58.2 % here"), &on_page("slope 78.9 % here"), &[]);
        assert_eq!(faults, [Fault::Printed { page: 2, found: "58.2".into(), expected: "78.9".into() }]);
        let (faults, notes) = compared(&on_page("slope is 58.2 % here"), &on_page("slope came to 58.2 % here"), &[]);
        assert_eq!((faults, notes), (vec![], vec![Note::WordedOtherwise { texts: 1 }]));
    }

    #[test]
    fn characters_written_out_are_left_out() {
        assert_eq!(without_written_out("a[U+6F22]b[U+zz]"), "abzz]");
    }
}
