//! The rules, one a line: what is looked for, in which loops, what it explains, and what its advice may hurt.

use super::On::{self, Offset, Response, Slope};
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

type Test = fn(&Evidence, &State) -> Answer;
type Codes = &'static [&'static str];

const fn rule(code: &'static str, on_loop: Option<LoopQuantity>, test: Test, on: &'static [On]) -> Rule {
    Rule { code, quantity: on_loop, test, explains: &[], on, hazards: &[] }
}

const fn explains(codes: Codes, rule: Rule) -> Rule {
    Rule { explains: codes, ..rule }
}

const fn careful(hazards: &'static [Hazard], rule: Rule) -> Rule {
    Rule { hazards, ..rule }
}

/// What a probe that does not follow its buffers at all shows besides. Source: common practice, no source.
const ALL_OF_THE_PROBE: Codes = &[
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
const ALL_AND_NO_RESPONSE: Codes = &[
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
const LOW_SLOPES: Codes = &["slope-low", "slope-low-offset-moved", "response-slow"];

/// Every rule, in the order in which findings of the same weight are told.
pub const RULES: &[Rule] = &[
    careful(
        &[Hazard::Wiring],
        explains(ALL_OF_THE_PROBE, rule("response-reversed", Some(Ph), probe::reversed, &[Slope])),
    ),
    careful(
        &[Hazard::Glass],
        explains(ALL_AND_NO_RESPONSE, rule("glass-resistance-low", Some(Ph), probe::glass_low, &[Slope])),
    ),
    careful(
        &[Hazard::Glass],
        explains(ALL_AND_NO_RESPONSE, rule("glass-resistance-high", Some(Ph), probe::glass_high, &[Slope])),
    ),
    careful(
        &[Hazard::Glass],
        explains(
            &[
                "slope-low",
                "slope-low-offset-moved",
                "acid-half-low",
                "alkaline-half-low",
                "offset-off",
                "response-slow",
                "no-response",
            ],
            rule("remedies-failed", Some(Ph), probe::remedies_failed, &[Slope]),
        ),
    ),
    careful(&[Hazard::Glass], explains(ALL_OF_THE_PROBE, rule("no-response", Some(Ph), probe::no_response, &[Slope]))),
    careful(
        &[Hazard::Glass, Hazard::Wiring],
        explains(ALL_OF_THE_PROBE, rule("off-scale", Some(Ph), probe::off_scale, &[Slope])),
    ),
    explains(LOW_SLOPES, rule("new-probe-low", Some(Ph), probe::new_probe_low, &[])),
    careful(
        &[Hazard::Acid, Hazard::Glass],
        explains(&["response-slow"], rule("slope-low", Some(Ph), probe::slope_low, &[Slope, Response])),
    ),
    careful(
        &[Hazard::Acid, Hazard::Glass],
        explains(
            &["response-slow"],
            rule("slope-low-offset-moved", Some(Ph), probe::slope_and_offset, &[Slope, Offset]),
        ),
    ),
    explains(LOW_SLOPES, rule("alkaline-half-low", Some(Ph), probe::alkaline_half, &[Slope])),
    careful(&[Hazard::Acid], explains(LOW_SLOPES, rule("acid-half-low", Some(Ph), probe::acid_half, &[Slope]))),
    rule("slope-high", Some(Ph), probe::slope_high, &[]),
    careful(&[Hazard::Glass], rule("offset-off", Some(Ph), probe::offset_off, &[Offset])),
    explains(
        &["offset-off", "response-slow", "noisy"],
        rule("reference-resistance-high", Some(Ph), probe::reference_high, &[Offset, Response]),
    ),
    careful(&[Hazard::Acid, Hazard::Glass], rule("response-slow", Some(Ph), probe::slow, &[Response])),
    rule("not-settled", Some(Ph), probe::not_settled, &[]),
    explains(&["repeat-differs", "not-settled"], rule("noisy", Some(Ph), probe::noisy, &[])),
    rule("repeat-differs", Some(Ph), probe::repeat, &[]),
    careful(
        &[Hazard::Acid, Hazard::Solutions],
        explains(&["redox-off"], rule("redox-gain-off", Some(Redox), redox::gain, &[On::Error])),
    ),
    careful(&[Hazard::Acid, Hazard::Solutions], rule("redox-off", Some(Redox), redox::off, &[On::Error])),
    careful(&[Hazard::Wiring], rule("process-offset", None, rest::process_offset, &[])),
    careful(
        &[Hazard::Wiring],
        explains(&["shown-not-as-stored"], rule("temperature-off", None, rest::temperature, &[])),
    ),
    careful(
        &[Hazard::Control],
        explains(&["output-off", "control-room-off"], rule("output-fault", None, rest::output_fault, &[])),
    ),
    careful(
        &[Hazard::Control],
        explains(&["output-off", "control-room-off"], rule("output-reversed", None, rest::output_reversed, &[])),
    ),
    careful(&[Hazard::Control], explains(&["control-room-off"], rule("output-off", None, rest::output_off, &[]))),
    careful(&[Hazard::Control], rule("control-room-off", None, rest::control_room, &[])),
    rule("shown-not-as-stored", Some(Ph), rest::stored, &[]),
    rule("check-standard-off", Some(Ph), rest::check_standard, &[]),
    rule("fouling", None, rest::fouling, &[]),
];
