//! Words for codes and figures: one catalogue a language, read once and shared by all threads.
//!
//! Comes in: keys, and texts that are already final (rounded, with unit). Goes out: labels and sentences. Next:
//! [`crate::document`]. Everything printed on a document stands in a catalogue, except symbols and what people typed.

mod dates;
mod deviations;
mod findings;
mod slips;

pub use dates::When;
pub use findings::hazards;

use crate::rounding::DecimalSign;
use handlebars::Handlebars;
use std::collections::{BTreeMap, HashMap};
use std::sync::LazyLock;

/// The catalogues of a language: key to text, placeholders in double braces.
struct Catalogues {
    /// Language tag (BCP 47).
    tag: &'static str,
    /// Words and sentences.
    words: &'static str,
    /// Sentences of findings, keys without the leading `finding`.
    findings: &'static str,
    /// Sentences of deviations, keys without the leading `deviation`.
    deviations: &'static str,
    /// How dates and lists are written.
    forms: &'static str,
}

/// Every language, in the order of [`crate::client::LANGUAGES`].
const CATALOGUES: [Catalogues; 4] = [
    Catalogues {
        tag: "en",
        words: include_str!("../templates/wording/en.yaml"),
        findings: include_str!("../templates/wording/findings-en.yaml"),
        deviations: include_str!("../templates/wording/deviations-en.yaml"),
        forms: include_str!("../templates/wording/forms-en.yaml"),
    },
    Catalogues {
        tag: "de",
        words: include_str!("../templates/wording/de.yaml"),
        findings: include_str!("../templates/wording/findings-de.yaml"),
        deviations: include_str!("../templates/wording/deviations-de.yaml"),
        forms: include_str!("../templates/wording/forms-de.yaml"),
    },
    Catalogues {
        tag: "fr",
        words: include_str!("../templates/wording/fr.yaml"),
        findings: include_str!("../templates/wording/findings-fr.yaml"),
        deviations: include_str!("../templates/wording/deviations-fr.yaml"),
        forms: include_str!("../templates/wording/forms-fr.yaml"),
    },
    Catalogues {
        tag: "es",
        words: include_str!("../templates/wording/es.yaml"),
        findings: include_str!("../templates/wording/findings-es.yaml"),
        deviations: include_str!("../templates/wording/deviations-es.yaml"),
        forms: include_str!("../templates/wording/forms-es.yaml"),
    },
];

impl Catalogues {
    /// Every text by its key, with the leading `finding` or `deviation`.
    fn texts(&self) -> Result<BTreeMap<String, String>, String> {
        let mut all = BTreeMap::new();
        let parts = [("", self.words), ("finding ", self.findings), ("deviation ", self.deviations), ("", self.forms)];
        for (kind, part) in parts {
            let texts: BTreeMap<String, String> = serde_yaml::from_str(part).map_err(|error| error.to_string())?;
            all.extend(texts.into_iter().map(|(key, text)| (format!("{kind}{key}"), text)));
        }
        Ok(all)
    }
}

/// The words of one language.
#[derive(Debug)]
pub struct Wording {
    /// Language tag (BCP 47): `en`.
    pub language: &'static str,
    /// Whatever has no placeholder: looked up, never rendered.
    labels: HashMap<String, String>,
    /// Whatever has placeholders: strict, nothing escaped (the painter that needs it escapes once).
    sentences: Handlebars<'static>,
}

/// The English words: those of the terminal and of `--format json`.
pub fn english() -> &'static Wording {
    Wording::of(None)
}

impl Wording {
    /// The words of a language by its tag; English where none is named. A file cannot name one that is not there.
    pub fn of(tag: Option<&str>) -> &'static Wording {
        const fn shelf<const AT: usize>() -> LazyLock<Wording> {
            LazyLock::new(|| {
                Wording::read(&CATALOGUES[AT]).expect("the catalogue is part of the program; a test reads it")
            })
        }
        static SHELF: [LazyLock<Wording>; 4] = [shelf::<0>(), shelf::<1>(), shelf::<2>(), shelf::<3>()];
        let at = CATALOGUES.iter().position(|catalogues| Some(catalogues.tag) == tag);
        &SHELF[at.unwrap_or(0)]
    }

    /// Reads the catalogues of a language.
    ///
    /// # Errors
    /// The parser's message when one is no mapping of texts, or a sentence no template.
    fn read(catalogues: &Catalogues) -> Result<Self, String> {
        let mut sentences = Handlebars::new();
        sentences.set_strict_mode(true);
        sentences.register_escape_fn(handlebars::no_escape);
        let mut labels = HashMap::new();
        for (key, sentence) in catalogues.texts()? {
            if sentence.contains("{{") {
                sentences.register_template_string(&key, sentence).map_err(|error| error.to_string())?;
            } else {
                labels.insert(key, sentence);
            }
        }
        Ok(Wording { language: catalogues.tag, labels, sentences })
    }

    /// The decimal sign of the language.
    pub fn decimal_sign(&self) -> DecimalSign {
        match self.label("decimal-sign") {
            "comma" => DecimalSign::Comma,
            _ => DecimalSign::Point,
        }
    }

    /// The catalogues, each with its name, as they are kept with what was issued.
    pub fn texts(&self) -> Vec<(String, &'static str)> {
        let own = CATALOGUES.iter().filter(|catalogues| catalogues.tag == self.language);
        let parts = own.flat_map(|own| {
            [("", own.words), ("findings-", own.findings), ("deviations-", own.deviations), ("forms-", own.forms)]
        });
        parts.map(|(kind, text)| (format!("{kind}{}.yaml", self.language), text)).collect()
    }

    /// The text of `key`, which has no placeholder.
    ///
    /// # Panics
    /// When the catalogue has no such label; a test holds that every key used in the source is there.
    pub fn label(&self, key: &str) -> &str {
        match self.labels.get(key) {
            Some(label) => label,
            None => panic!("the catalogue «{}» has no label «{key}»", self.language),
        }
    }

    /// The sentence of `key` with its placeholders filled by `fill` (name, final text).
    ///
    /// # Panics
    /// When the catalogue has no such sentence or `fill` leaves a placeholder open; a test holds that for every
    /// sentence used in the source both lists of names are the same.
    pub fn say(&self, key: &str, fill: &[(&str, &str)]) -> String {
        let fill: BTreeMap<&str, &str> = fill.iter().copied().collect();
        match self.sentences.render(key, &fill) {
            Ok(sentence) => sentence,
            Err(error) => panic!("the catalogue «{}»: «{key}»: {error}", self.language),
        }
    }

    /// The label or sentence of `key`; none where there is none, or `fill` leaves a placeholder open.
    fn try_say(&self, key: &str, fill: &BTreeMap<&'static str, String>) -> Option<String> {
        let label = self.labels.get(key).cloned();
        label.or_else(|| self.sentences.has_template(key).then(|| self.sentences.render(key, fill).ok()).flatten())
    }

    /// The word for a code of the record (`group` names the kind of code); a text that is no code stays as it is.
    pub fn word<'a>(&'a self, group: &str, code: &'a str) -> &'a str {
        self.word_if(group, code).unwrap_or(code)
    }

    /// The same; none where the text is no code.
    pub fn word_if(&self, group: &str, code: &str) -> Option<&str> {
        self.labels.get(&format!("{group} {code}")).map(String::as_str)
    }
}

#[cfg(test)]
mod tests;
