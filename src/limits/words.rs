//! The words of a limits file.

use super::{BoundWord, Criterion, Decision, Regime};

impl BoundWord {
    /// The words of the files.
    pub const WORDS: &[(&str, BoundWord)] = &[
        ("warn_below", BoundWord::WarnBelow),
        ("warn_above", BoundWord::WarnAbove),
        ("warn_beyond", BoundWord::WarnBeyond),
        ("fail_below", BoundWord::FailBelow),
        ("fail_above", BoundWord::FailAbove),
        ("fail_beyond", BoundWord::FailBeyond),
    ];

    /// As written in the files.
    pub fn word(self) -> &'static str {
        match self {
            BoundWord::WarnBelow => "warn_below",
            BoundWord::WarnAbove => "warn_above",
            BoundWord::WarnBeyond => "warn_beyond",
            BoundWord::FailBelow => "fail_below",
            BoundWord::FailAbove => "fail_above",
            BoundWord::FailBeyond => "fail_beyond",
        }
    }

    /// Whether it bounds the magnitude.
    pub fn is_beyond(self) -> bool {
        matches!(self, BoundWord::WarnBeyond | BoundWord::FailBeyond)
    }

    /// Whether a value outside it only warns.
    pub fn is_warn(self) -> bool {
        matches!(self, BoundWord::WarnBelow | BoundWord::WarnAbove | BoundWord::WarnBeyond)
    }
}

impl Criterion {
    /// The words of the files.
    pub const WORDS: &[(&str, Criterion)] = &[
        ("slope", Criterion::Slope),
        ("offset", Criterion::Offset),
        ("as_found_error", Criterion::AsFoundError),
        ("as_left_error", Criterion::AsLeftError),
        ("gain", Criterion::Gain),
        ("check_standard", Criterion::CheckStandard),
        ("temperature", Criterion::Temperature),
        ("output", Criterion::Output),
        ("sample", Criterion::Sample),
        ("settling", Criterion::Settling),
        ("junction_age", Criterion::JunctionAge),
    ];

    /// As written in the files.
    pub fn word(self) -> &'static str {
        match self {
            Criterion::Slope => "slope",
            Criterion::Offset => "offset",
            Criterion::AsFoundError => "as_found_error",
            Criterion::AsLeftError => "as_left_error",
            Criterion::Gain => "gain",
            Criterion::CheckStandard => "check_standard",
            Criterion::Temperature => "temperature",
            Criterion::Output => "output",
            Criterion::Sample => "sample",
            Criterion::Settling => "settling",
            Criterion::JunctionAge => "junction_age",
        }
    }

    /// The rule this criterion is judged by under a set's rule: waiting times and ages have no uncertainty and are
    /// always judged by the simple one.
    pub fn decision(self, of_the_set: Decision) -> Decision {
        match self {
            Criterion::Settling | Criterion::JunctionAge => Decision::Simple,
            Criterion::Slope
            | Criterion::Offset
            | Criterion::AsFoundError
            | Criterion::AsLeftError
            | Criterion::Gain
            | Criterion::CheckStandard
            | Criterion::Temperature
            | Criterion::Output
            | Criterion::Sample => of_the_set,
        }
    }
}

impl Regime {
    /// The words of the files.
    pub const WORDS: &[(&str, Regime)] = &[
        ("plain", Regime::Plain),
        ("permit", Regime::Permit),
        ("gmp", Regime::Gmp),
        ("laboratory", Regime::Laboratory),
    ];

    /// As written in the files.
    pub fn word(self) -> &'static str {
        match self {
            Regime::Plain => "plain",
            Regime::Permit => "permit",
            Regime::Gmp => "gmp",
            Regime::Laboratory => "laboratory",
        }
    }
}

impl Decision {
    /// The words of the files; `{guard: 0.5}` is written as a mapping.
    pub const WORDS: &[(&str, Decision)] = &[("simple", Decision::Simple), ("guarded", Decision::Guarded(1.0))];

    /// As printed: `simple`, `guarded`, `guard 0.5`.
    pub fn word(self) -> String {
        match self {
            Decision::Simple => "simple".to_owned(),
            Decision::Guarded(1.0) => "guarded".to_owned(),
            Decision::Guarded(multiple) => format!("guard {multiple}"),
        }
    }
}
