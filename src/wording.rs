//! Words for codes and figures: one catalogue a language, read once and shared by all threads.
//!
//! Comes in: keys, and texts that are already final (rounded, with unit). Goes out: labels and sentences. Next:
//! [`crate::document`]. Everything printed on a document stands in a catalogue, except symbols and what people typed.

mod findings;
mod slips;

pub use findings::hazards;

use handlebars::Handlebars;
use std::collections::{BTreeMap, HashMap};
use std::sync::LazyLock;

/// The English catalogue: key to sentence, placeholders in double braces.
const ENGLISH: &str = include_str!("../templates/wording/en.yaml");
/// The English sentences of findings, keys without the leading `finding`.
const ENGLISH_FINDINGS: &str = include_str!("../templates/wording/findings-en.yaml");

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

/// The English words.
pub fn english() -> &'static Wording {
    static WORDING: LazyLock<Wording> = LazyLock::new(|| {
        Wording::read("en", ENGLISH, ENGLISH_FINDINGS).expect("the catalogue is part of the program; a test reads it")
    });
    &WORDING
}

impl Wording {
    /// Reads a catalogue and that of the findings.
    ///
    /// # Errors
    /// The parser's message when it is no mapping of texts, or a sentence no template.
    fn read(language: &'static str, catalogue: &str, findings: &str) -> Result<Self, String> {
        let texts = |catalogue: &str| -> Result<BTreeMap<String, String>, String> {
            serde_yaml::from_str(catalogue).map_err(|error| error.to_string())
        };
        let mut catalogue = texts(catalogue)?;
        catalogue.extend(texts(findings)?.into_iter().map(|(key, text)| (format!("finding {key}"), text)));
        let mut sentences = Handlebars::new();
        sentences.set_strict_mode(true);
        sentences.register_escape_fn(handlebars::no_escape);
        let mut labels = HashMap::new();
        for (key, sentence) in catalogue {
            if sentence.contains("{{") {
                sentences.register_template_string(&key, sentence).map_err(|error| error.to_string())?;
            } else {
                labels.insert(key, sentence);
            }
        }
        Ok(Wording { language, labels, sentences })
    }

    /// The catalogues, each with its name, as they are kept with what was issued.
    pub fn texts(&self) -> Vec<(String, &'static str)> {
        vec![("en.yaml".to_owned(), ENGLISH), ("findings-en.yaml".to_owned(), ENGLISH_FINDINGS)]
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

    /// The word for a code of the record (`group` names the kind of code); a text that is no code stays as it is.
    pub fn word<'a>(&'a self, group: &str, code: &'a str) -> &'a str {
        self.labels.get(&format!("{group} {code}")).map_or(code, String::as_str)
    }
}

#[cfg(test)]
mod tests;
