//! The words of a firm file.

use super::{DecimalSign, Paper, Role};

impl Paper {
    /// The words of the files.
    pub const WORDS: &[(&str, Paper)] = &[("A4", Paper::A4), ("Letter", Paper::Letter)];

    /// As written in the files.
    pub fn word(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::Letter => "Letter",
        }
    }
}

impl DecimalSign {
    /// The words of the files.
    pub const WORDS: &[(&str, DecimalSign)] = &[("point", DecimalSign::Point), ("comma", DecimalSign::Comma)];

    /// As written in the files.
    pub fn word(self) -> &'static str {
        match self {
            DecimalSign::Point => "point",
            DecimalSign::Comma => "comma",
        }
    }
}

impl Role {
    /// The words of the files.
    pub const WORDS: &[(&str, Role)] = &[
        ("performed", Role::Performed),
        ("reviewed", Role::Reviewed),
        ("authorised", Role::Authorised),
        ("received", Role::Received),
    ];

    /// As written in the files.
    pub fn word(self) -> &'static str {
        match self {
            Role::Performed => "performed",
            Role::Reviewed => "reviewed",
            Role::Authorised => "authorised",
            Role::Received => "received",
        }
    }
}
