//! The rules, one a line: what is looked for, in which loops, what it explains, and what its advice may hurt.

use self::Hazard::*;
use super::On::{self, Error, Offset, Response, Slope};
use super::{Answer, Evidence, State, probe, redox, rest};
use crate::client::LoopQuantity::{self, Ph, Redox};

/// What the advice of a finding may hurt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hazard {
    /// Dilute acid.
    Acid,
    /// Thin glass.
    Glass,
    /// Wiring and mains.
    Wiring,
    /// Redox solutions.
    Solutions,
    /// A loop that controls something.
    Control,
}

/// One rule.
#[derive(Debug)]
pub struct Rule {
    /// Stable code.
    pub code: &'static str,
    /// Loops it looks at; `None`: both.
    pub quantity: Option<LoopQuantity>,
    /// Looks at one state.
    pub test: fn(&Evidence, &State) -> Answer,
    /// Codes that it explains: they are not told beside it.
    pub explains: &'static [&'static str],
    /// By what a remedy for it is judged, the most telling first; empty where remedies do not show in the standards.
    pub on: &'static [On],
    /// What its advice may hurt.
    pub hazards: &'static [Hazard],
}

type Codes = &'static [&'static str];

const fn rule(code: &'static str, quantity: Option<LoopQuantity>, test: fn(&Evidence, &State) -> Answer) -> Rule {
    Rule { code, quantity, test, explains: &[], on: &[], hazards: &[] }
}

impl Rule {
    const fn on(self, on: &'static [On]) -> Rule {
        Rule { on, ..self }
    }

    const fn explains(self, explains: Codes) -> Rule {
        Rule { explains, ..self }
    }

    const fn may_hurt(self, hazards: &'static [Hazard]) -> Rule {
        Rule { hazards, ..self }
    }
}

/// What a probe that does not follow its buffers at all shows in the fit besides. Source: common practice, no source.
const ALL_OF_THE_FIT: Codes = &[
    "slope-low",
    "slope-low-offset-moved",
    "acid-half-low",
    "alkaline-half-low",
    "slope-high",
    "offset-off",
    "response-slow",
    "not-settled",
    "shown-not-as-stored",
    "check-standard-off",
];
/// The same, where the glass or the connector is known to be the cause. Source: common practice, no source.
const ALL_OF_THE_PROBE: Codes = &[
    "no-response",
    "off-scale",
    "slope-low",
    "slope-low-offset-moved",
    "acid-half-low",
    "alkaline-half-low",
    "offset-off",
    "response-slow",
    "not-settled",
    "noisy",
    "remedies-failed",
];
/// What a probe that no remedy helped shows besides. Source: common practice, no source.
const ALL_OF_A_DEAD_ONE: Codes = &[
    "no-response",
    "slope-low",
    "slope-low-offset-moved",
    "acid-half-low",
    "alkaline-half-low",
    "offset-off",
    "response-slow",
];
/// What one half, or a new probe, explains. Source: common practice, no source.
const LOW_SLOPES: Codes = &["slope-low", "slope-low-offset-moved", "response-slow"];

/// Every rule, in the order in which findings of the same weight are told.
///
/// Source: symptoms and what explains them are common practice, no source; thresholds name theirs where they stand.
pub const RULES: &[Rule] = &[
    rule("response-reversed", Some(Ph), probe::reversed).on(&[Slope]).explains(ALL_OF_THE_FIT).may_hurt(&[Wiring]),
    rule("glass-resistance-low", Some(Ph), probe::glass_low).on(&[Slope]).explains(ALL_OF_THE_PROBE).may_hurt(&[Glass]),
    rule("glass-resistance-high", Some(Ph), probe::glass_high)
        .on(&[Slope])
        .explains(ALL_OF_THE_PROBE)
        .may_hurt(&[Glass]),
    rule("remedies-failed", Some(Ph), probe::remedies_failed)
        .on(&[Slope])
        .explains(ALL_OF_A_DEAD_ONE)
        .may_hurt(&[Glass]),
    rule("no-response", Some(Ph), probe::no_response).on(&[Slope]).explains(ALL_OF_THE_FIT).may_hurt(&[Glass]),
    rule("off-scale", Some(Ph), probe::off_scale).on(&[Slope]).explains(ALL_OF_THE_FIT).may_hurt(&[Glass, Wiring]),
    rule("new-probe-low", Some(Ph), probe::new_probe_low).explains(LOW_SLOPES),
    rule("slope-low", Some(Ph), probe::slope_low)
        .on(&[Slope, Response])
        .explains(&["response-slow"])
        .may_hurt(&[Acid, Glass]),
    rule("slope-low-offset-moved", Some(Ph), probe::slope_and_offset)
        .on(&[Slope, Offset])
        .explains(&["response-slow"])
        .may_hurt(&[Acid, Glass]),
    rule("alkaline-half-low", Some(Ph), probe::alkaline_half).on(&[Slope]).explains(LOW_SLOPES),
    rule("acid-half-low", Some(Ph), probe::acid_half).on(&[Slope]).explains(LOW_SLOPES).may_hurt(&[Acid]),
    rule("slope-high", Some(Ph), probe::slope_high),
    rule("offset-off", Some(Ph), probe::offset_off).on(&[Offset]).may_hurt(&[Glass]),
    rule("reference-resistance-high", Some(Ph), probe::reference_high).on(&[Offset, Response]).explains(&[
        "offset-off",
        "response-slow",
        "noisy",
    ]),
    rule("response-slow", Some(Ph), probe::slow).on(&[Response]).may_hurt(&[Acid, Glass]),
    rule("not-settled", Some(Ph), probe::not_settled),
    rule("noisy", Some(Ph), probe::noisy).explains(&["repeat-differs", "not-settled"]),
    rule("repeat-differs", Some(Ph), probe::repeat),
    rule("redox-gain-off", Some(Redox), redox::gain).on(&[Error]).explains(&["redox-off"]).may_hurt(&[Acid, Solutions]),
    rule("redox-off", Some(Redox), redox::off).on(&[Error]).may_hurt(&[Acid, Solutions]),
    rule("process-offset", None, rest::process_offset).may_hurt(&[Wiring]),
    rule("temperature-off", None, rest::temperature).explains(&["shown-not-as-stored"]).may_hurt(&[Wiring]),
    rule("output-fault", None, rest::output_fault).explains(&["output-off", "control-room-off"]).may_hurt(&[Control]),
    rule("output-reversed", None, rest::output_reversed)
        .explains(&["output-off", "control-room-off"])
        .may_hurt(&[Control]),
    rule("output-off", None, rest::output_off).explains(&["control-room-off"]).may_hurt(&[Control]),
    rule("control-room-off", None, rest::control_room).may_hurt(&[Control]),
    rule("shown-not-as-stored", Some(Ph), rest::stored),
    rule("check-standard-off", Some(Ph), rest::check_standard),
    rule("fouling", None, rest::fouling),
];
