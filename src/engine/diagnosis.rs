//! What the figures of a loop point to, and what each remedy did.
//!
//! Comes in: [`Evidence`], plain numbers of one loop. Goes out: [`Finding`]s, codes with the figures they rest on, the most
//! serious first; none for a healthy loop. Next: [`crate::record`]; the sentences stand in [`crate::wording`].
//!
//! A rule looks at one state at a time. What one finding explains is folded into it, so that a reversed response is not told
//! again as a low slope. A finding as found says whether it is gone as left. Order of readings does not matter.

mod effect;
mod evidence;
mod probe;
mod redox;
mod rest;
mod table;

pub use effect::{Effect, On, Outcome, effect};
pub use evidence::{Evidence, OutputCheck, Reading, SampleCheck, Snapshot, State, Step, TemperatureCheck};
pub use table::{Hazard, RULES, Rule};

use self::effect::TELLING_SLOPE_PERCENT;
use crate::client::LoopQuantity;
use serde::Serialize;

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// Something is due.
    Attention,
    /// The loop cannot be trusted.
    Serious,
}

/// A named number; the end of its name is its unit (`slope_percent`, `offset_mv`).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// Name with unit.
    pub name: &'static str,
    /// Value.
    pub value: f64,
}

/// Something the figures point to.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Stable code, kebab-case.
    pub code: &'static str,
    /// Weight of the state it was first seen in.
    pub severity: Severity,
    /// Whether it was first seen as found; else only as left.
    pub as_found: bool,
    /// Whether it is gone as left; `None` where that was not measured.
    pub resolved: Option<bool>,
    /// The numbers it rests on.
    pub figures: Vec<Figure>,
}

/// What a rule says of one state.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// It applies, with this weight and these numbers.
    Shows(Severity, Vec<Figure>),
    /// The state was looked at and does not show it.
    Absent,
    /// What it needs was not measured.
    Unknown,
}

impl Answer {
    /// Shows what was found; absent without.
    fn of(found: Option<(Severity, Vec<Figure>)>) -> Answer {
        found.map_or(Answer::Absent, |(severity, figures)| Answer::Shows(severity, figures))
    }

    fn shows(&self) -> bool {
        matches!(self, Answer::Shows(..))
    }
}

/// Figures that exist and are finite, by name.
fn figures<const N: usize>(named: [(&'static str, Option<f64>); N]) -> Vec<Figure> {
    let known = named.into_iter().filter_map(|(name, value)| Some(Figure { name, value: value? }));
    known.filter(|figure| figure.value.is_finite()).collect()
}

/// The highest severity whose threshold a value reaches; thresholds from note to serious.
fn weighed(value: f64, note: f64, attention: f64, serious: f64) -> Option<Severity> {
    let levels = [(serious, Severity::Serious), (attention, Severity::Attention), (note, Severity::Note)];
    levels.into_iter().find(|(from, _)| value > *from).map(|(_, severity)| severity)
}

/// Every finding of a loop, the most serious first, what is still open before what is gone.
pub fn diagnose(evidence: &Evidence) -> Vec<Finding> {
    let ask = |state: &Option<State>| -> Vec<Answer> {
        let state = state.as_ref();
        RULES.iter().map(|rule| state.map_or(Answer::Unknown, |state| rule.ask(evidence, state))).collect()
    };
    let (found, left) = (ask(&evidence.found), ask(&evidence.left));
    let (told_found, told_left) = (standing(&found), standing(&left));
    let finding = |at: usize| {
        let as_found = told_found[at];
        let shown = if as_found { &found[at] } else { &left[at] };
        let Answer::Shows(severity, figures) = shown else { return None };
        let resolved = match &left[at] {
            Answer::Shows(..) => Some(false),
            Answer::Absent => Some(!(as_found && only_by_chance(evidence, &RULES[at]))),
            Answer::Unknown => evidence.stands.then_some(false),
        };
        let mut finding =
            Finding { code: RULES[at].code, severity: *severity, as_found, resolved, figures: figures.clone() };
        finding.figures.extend(what_followed(evidence, &RULES[at], &finding));
        (as_found || told_left[at]).then_some(finding)
    };
    let mut findings: Vec<Finding> = (0..RULES.len()).filter_map(finding).collect();
    findings.sort_by_key(|finding| (std::cmp::Reverse(finding.severity), finding.resolved == Some(true)));
    findings
}

/// Which answers stand: they show something that no other shown one explains.
fn standing(answers: &[Answer]) -> Vec<bool> {
    let shown = || RULES.iter().zip(answers).filter(|(_, answer)| answer.shows());
    let explained = |code: &str| shown().any(|(rule, _)| rule.explains.contains(&code));
    RULES.iter().zip(answers).map(|(rule, answer)| answer.shows() && !explained(rule.code)).collect()
}

/// Whether a low slope of the same probe crossed its threshold by less than two readings tell apart.
fn only_by_chance(evidence: &Evidence, rule: &Rule) -> bool {
    let slope = |state: &Option<State>| state.as_ref().and_then(|state| state.slope_percent);
    let gain = Option::zip(slope(&evidence.left), slope(&evidence.found)).map(|(left, found)| left - found);
    let same_probe = evidence.left.as_ref().is_some_and(|left| !left.new_probe);
    rule.code.starts_with("slope-low") && same_probe && gain.is_some_and(|gain| gain < TELLING_SLOPE_PERCENT)
}

/// What became of a finding as found: which remedies helped most and by how much, else how many did not; figures as left.
fn what_followed(evidence: &Evidence, rule: &Rule, finding: &Finding) -> Vec<Figure> {
    if !finding.as_found || rule.on.is_empty() || evidence.steps.is_empty() {
        return Vec::new();
    }
    let effects: Vec<(usize, Effect)> =
        (1..).zip(&evidence.steps).filter_map(|(number, step)| Some((number, effect(step)?))).collect();
    let helped = |on: &On| {
        let helpful = |(_, effect): &&(usize, Effect)| effect.on == *on && effect.outcome.helped();
        let mut helped: Vec<&(usize, Effect)> = effects.iter().filter(helpful).collect();
        helped.sort_by(|a, b| b.1.gain().abs().total_cmp(&a.1.gain().abs()));
        helped
    };
    let best = rule.on.iter().map(helped).find(|helped| !helped.is_empty()).unwrap_or_default();
    let step = |place: usize| best.get(place).map(|(number, _)| *number as f64);
    let left = evidence.left.as_ref();
    let about_slope = rule.on.contains(&On::Slope);
    figures([
        ("helped_step", step(0)),
        ("helped_too_step", step(1)),
        ("left_slope_percent", left.and_then(|left| left.slope_percent).filter(|_| about_slope)),
        ("left_offset_mv", left.and_then(|left| left.offset_mv).filter(|_| rule.on.contains(&On::Offset))),
    ])
}

impl Rule {
    /// What the rule says of a state.
    fn ask(&self, evidence: &Evidence, state: &State) -> Answer {
        let concerned = match self.quantity {
            None => true,
            Some(quantity) => quantity == evidence.quantity,
        };
        if concerned { (self.test)(evidence, state) } else { Answer::Unknown }
    }
}

/// Whether a loop is a redox loop.
fn is_redox(evidence: &Evidence) -> bool {
    match evidence.quantity {
        LoopQuantity::Redox => true,
        LoopQuantity::Ph => false,
    }
}
