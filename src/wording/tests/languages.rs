//! Every language says everything that English says, with the same figures, and sets it as its readers expect.

use super::*;

/// Units and signs that follow a number.
const UNITS: [&str; 20] = [
    "%", "°C", "°F", "K", "mV", "V", "mA", "Ω", "kΩ", "MΩ", "GΩ", "s", "min", "h", "mm", "pH", "mV/pH", "mV/min",
    "mol/L", "ppm",
];

fn texts(tag: &str) -> BTreeMap<String, String> {
    CATALOGUES.iter().find(|one| one.tag == tag).unwrap().texts().unwrap()
}

/// Runs `told` over every text of a language and lists what it tells, with language and key.
fn list(told: impl Fn(&str, &str, &str) -> Option<String>) {
    let mut wrong = Vec::new();
    for Catalogues { tag, .. } in &CATALOGUES {
        for (key, text) in texts(tag) {
            wrong.extend(told(tag, &key, &text).map(|what| format!("{tag} «{key}»: {what}: {text}")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_languages_are_those_that_a_file_can_name() {
    let named: Vec<&str> = crate::client::LANGUAGES.iter().map(|(_, tag)| *tag).collect();
    let known: Vec<&str> = CATALOGUES.iter().map(|one| one.tag).collect();
    assert_eq!(named, known);
    known.iter().for_each(|tag| assert_eq!(Wording::of(Some(tag)).language, *tag));
    assert_eq!(english().language, "en");
}

#[test]
fn every_language_says_everything_with_the_same_figures() {
    let english = texts("en");
    let mut wrong = Vec::new();
    for Catalogues { tag, .. } in CATALOGUES.iter().skip(1) {
        let own = texts(tag);
        wrong.extend(
            own.keys().filter(|key| !english.contains_key(*key)).map(|key| format!("{tag} «{key}» is surplus")),
        );
        for (key, sentence) in &english {
            let Some(said) = own.get(key) else {
                wrong.push(format!("{tag} «{key}» is missing"));
                continue;
            };
            let is_form = ["day", "month"].contains(&key.as_str());
            if placeholders(said) != placeholders(sentence) && !is_form {
                wrong.push(format!("{tag} «{key}» has {:?}, not {:?}", placeholders(said), placeholders(sentence)));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_text_is_empty_or_has_spaces_at_its_ends() {
    list(|_, key, text| {
        let is_bare = text.trim() != text && !["colon", "semicolon"].contains(&key);
        (text.is_empty() || is_bare || text.contains("  ")).then(|| "spaces".to_owned())
    });
}

#[test]
fn a_number_and_its_unit_are_never_parted() {
    list(|_, _, text| {
        let words: Vec<&str> = text.split(' ').collect();
        let parted = words.windows(2).find(|pair| {
            let bare = pair[1].trim_end_matches(|c: char| ".,;:)?!".contains(c) || c == '\u{a0}' || c == '\u{202f}');
            let is_number = pair[0].ends_with(|c: char| c.is_ascii_digit()) || pair[0].ends_with("}}");
            // Between placeholders only what can be nothing but a unit.
            is_number
                && UNITS.contains(&bare)
                && (pair[0].ends_with("}}") <= (bare != "h" && bare != "s" && bare != "K"))
        });
        parted.map(|pair| format!("a plain space before «{}»", pair[1]))
    });
}

#[test]
fn quotation_marks_are_those_of_the_language() {
    list(|tag, _, text| {
        let wrong: &[char] = match tag {
            "en" => &['„', '«', '»', '"'],
            "de" => &['”', '«', '»', '"'],
            _ => &['„', '“', '”', '"'],
        };
        let count = |mark: char| text.matches(mark).count();
        let pairs = [('„', '“'), ('«', '»')].iter().all(|&(open, close)| tag == "en" || count(open) == count(close));
        let balanced = pairs && (tag != "en" || count('“') == count('”'));
        (text.contains(wrong) || !balanced).then(|| "quotation marks".to_owned())
    });
}

#[test]
fn french_has_its_spaces() {
    list(|tag, key, text| {
        if tag != "fr" || key == "semicolon" {
            return None;
        }
        let characters: Vec<char> = text.chars().collect();
        let is_wrong = |at: usize| {
            let before = at.checked_sub(1).map(|at| characters[at]);
            let after = characters.get(at + 1).copied();
            match characters[at] {
                ';' | '!' | '?' => before != Some('\u{202f}'),
                // Not between digits: 9:30, 1:3.5, {{contrast}}:1.
                ':' => before != Some('\u{a0}') && !after.is_some_and(|c| c.is_ascii_digit()),
                '«' => after != Some('\u{a0}'),
                '»' => before != Some('\u{a0}'),
                '\'' => true,
                _ => false,
            }
        };
        (0..characters.len()).find(|&at| is_wrong(at)).map(|at| format!("the space at «{}»", characters[at]))
    });
}

#[test]
fn numbers_in_a_text_have_the_decimal_sign_of_the_language() {
    // Editions, clauses and names that hold a point between digits.
    const REFERENCES: [&str; 2] = ["122.41(j)(2)", "7.00"];
    list(|tag, _, text| {
        let text = REFERENCES.iter().fold(text.to_owned(), |text, reference| text.replace(reference, ""));
        let characters: Vec<char> = text.chars().collect();
        let wrong = if tag == "en" { ',' } else { '.' };
        let is_wrong = |three: &[char]| three[0].is_ascii_digit() && three[1] == wrong && three[2].is_ascii_digit();
        characters.windows(3).any(is_wrong).then(|| format!("«{wrong}» between digits"))
    });
}
