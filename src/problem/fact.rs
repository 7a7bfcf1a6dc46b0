//! What a problem is about, as plain data, so that a document can say it in its own language.

use serde::Serialize;
use std::collections::BTreeMap;

/// One figure or text of what was found.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Fact {
    /// A text that a person typed: a tag, a serial, a lot, a name. Printed as it stands.
    Text(String),
    /// A number as a person typed it, with its unit where one was typed.
    Typed(String),
    /// A computed number.
    Number {
        /// In full precision.
        value: f64,
        /// Digits after the decimal sign that it deserves.
        decimals: usize,
        /// Unit as printed behind it; empty where the sentence names it.
        unit: &'static str,
        /// Whether it carries a plus sign where it is positive.
        signed: bool,
    },
    /// A day or a moment: `2026-04-17`, `2026-04-17T08:40+01:00`.
    Time(String),
    /// A state of the loop: `as found`, `after «acid soak»`, `as left`.
    Stage(String),
    /// A code of the record with the group of its word: `remedy`, `role`, `standard`.
    Word {
        /// Kind of code.
        group: &'static str,
        /// The code.
        code: String,
    },
    /// Several facts of one kind, each said by a sentence of its own.
    Each(Vec<BTreeMap<&'static str, Fact>>),
}

impl Fact {
    /// A text as typed.
    pub fn text(text: impl Into<String>) -> Self {
        Fact::Text(text.into())
    }

    /// A number as typed.
    pub fn typed(text: impl Into<String>) -> Self {
        Fact::Typed(text.into())
    }

    /// A computed number with its decimals and unit.
    pub fn number(value: f64, decimals: usize, unit: &'static str) -> Self {
        Fact::Number { value, decimals, unit, signed: false }
    }

    /// A computed number that carries its sign.
    pub fn signed(value: f64, decimals: usize, unit: &'static str) -> Self {
        Fact::Number { value, decimals, unit, signed: true }
    }

    /// A day or a moment.
    pub fn time(text: impl Into<String>) -> Self {
        Fact::Time(text.into())
    }

    /// A state of the loop.
    pub fn stage(stage: impl Into<String>) -> Self {
        Fact::Stage(stage.into())
    }

    /// A code with the group of its word.
    pub fn word(group: &'static str, code: impl Into<String>) -> Self {
        Fact::Word { group, code: code.into() }
    }
}

/// What a problem or deviation is about: which of the sentences of its code fits, and what fills it.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Facts {
    /// Which sentence of the code; none where the code has one only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub case: Option<&'static str>,
    /// Name to fact; the names are the placeholders of the sentence.
    #[serde(flatten)]
    pub named: BTreeMap<&'static str, Fact>,
}

impl Facts {
    /// Facts of a code with one sentence.
    pub fn of<const N: usize>(named: [(&'static str, Fact); N]) -> Self {
        Facts { case: None, named: named.into() }
    }

    /// Facts for one of several sentences of a code.
    pub fn case<const N: usize>(case: &'static str, named: [(&'static str, Fact); N]) -> Self {
        Facts { case: Some(case), named: named.into() }
    }
}
