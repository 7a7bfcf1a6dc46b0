//! Criteria, verdicts and the condition of the probe.
//!
//! Every verdict is taken on unrounded values. As found and as left are judged apart; each is the worst of its criteria.

use super::*;
use crate::client::LoopQuantity;
use crate::engine::student::within;
use crate::limits::{BoundWord, Criterion, Decision, Judgement, Limit, judge};
use crate::visit::{Loop, Outcome, RemedyKind, Visit};
use chrono::{Datelike, NaiveDate};

/// What is judged of one loop.
pub struct Judging<'a> {
    /// The visit.
    pub visit: &'a Visit,
    /// The loop.
    pub subject: &'a Loop,
    /// Figures as found.
    pub as_found: &'a StateRecord,
    /// Figures after each remedy.
    pub remedies: &'a [RemedyRecord],
    /// Figures as left.
    pub as_left: Option<&'a StateRecord>,
}

/// Verdicts of a loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Verdicts {
    /// As found.
    pub as_found: Option<Verdict>,
    /// As left.
    pub as_left: Option<Verdict>,
    /// Of the state left in service.
    pub overall: Option<Verdict>,
}

/// A value to be judged.
#[derive(Debug, Clone)]
struct Candidate {
    /// What it belongs to.
    of: Option<String>,
    value: f64,
    /// The decimals it deserves.
    decimals: usize,
    uncertainty: Option<Known>,
}

/// What is known of how well a value was found.
#[derive(Debug, Clone, Copy)]
struct Known {
    expanded: f64,
    standard: f64,
    dof: f64,
}

impl Known {
    /// Of an uncertainty whose inputs are all taken from certificates or assumed, so that k = 2.
    fn expanded(expanded: f64) -> Known {
        Known { expanded, standard: expanded / 2.0, dof: f64::INFINITY }
    }
}

impl From<UncertaintyRecord> for Known {
    fn from(of: UncertaintyRecord) -> Known {
        let dof = of.effective_dof.unwrap_or(f64::INFINITY);
        Known { expanded: of.expanded, standard: of.standard, dof }
    }
}

/// Decimals of figures that come out of the fit.
const FIGURE_DECIMALS: usize = 1;

impl Judging<'_> {
    /// Every criterion that the limits ask for, as found first, in the order of the limits file.
    pub fn criteria(&self) -> Vec<CriterionRecord> {
        let limits = match self.subject.quantity {
            LoopQuantity::Ph => &self.subject.limits.ph,
            LoopQuantity::Redox => &self.subject.limits.redox,
        };
        let stages = [(Stage::AsFound, Some(self.as_found)), (Stage::AsLeft, self.as_left)];
        let mut criteria = Vec::new();
        for (stage, state) in stages {
            let Some(state) = state.filter(|state| state.not_obtained.is_none()) else {
                continue;
            };
            let asked = limits.iter().filter(|(criterion, _)| applies(*criterion, stage));
            let judged = asked.map(|(criterion, limit)| self.criterion(*criterion, limit, stage, state));
            criteria.extend(judged);
        }
        once_for_missing_checks(criteria)
    }

    fn criterion(&self, criterion: Criterion, limit: &Limit, stage: Stage, state: &StateRecord) -> CriterionRecord {
        let decision = self.subject.limits.decision;
        let record = CriterionRecord {
            name: criterion.word(),
            stage,
            of: None,
            value: None,
            unit: unit(criterion, self.subject.quantity),
            decimals: 0,
            limit: limit_record(limit),
            expanded_uncertainty: None,
            probability_of_conformity: None,
            guard_bands_meet: false,
            outcome: OutcomeWord::NotJudged,
            reason: None,
        };
        let candidates = match self.candidates(criterion, limit, stage, state) {
            Ok(candidates) => candidates,
            Err(reason) => {
                return CriterionRecord { reason: Some(reason.to_owned()), ..record };
            }
        };
        let judged = candidates.into_iter().map(|one| (judged(&one, limit, criterion, decision), one));
        let worst = judged.max_by(|(a, x), (b, y)| a.0.cmp(&b.0).then(x.value.abs().total_cmp(&y.value.abs())));
        let Some(((outcome, guard_bands_meet), worst)) = worst else {
            return CriterionRecord { reason: Some("no-value".to_owned()), ..record };
        };
        let reason = (outcome == OutcomeWord::NotJudged).then(|| "no-uncertainty".to_owned());
        CriterionRecord {
            value: Some(worst.value),
            decimals: worst.decimals,
            expanded_uncertainty: worst.uncertainty.map(|known| known.expanded),
            probability_of_conformity: probability(&worst, limit),
            of: worst.of,
            guard_bands_meet,
            outcome,
            reason,
            ..record
        }
    }

    /// The values that a criterion judges in a state, or the word code of the reason why there is none.
    fn candidates(
        &self,
        criterion: Criterion,
        limit: &Limit,
        stage: Stage,
        state: &StateRecord,
    ) -> Result<Vec<Candidate>, &'static str> {
        let figures = &state.figures;
        let checks = &state.checks;
        let known =
            |of: fn(&FigureUncertainties) -> Option<UncertaintyRecord>| Some(of(figures.uncertainty.as_ref()?)?.into());
        let one = |value: Option<f64>, uncertainty: Option<Known>, reason| {
            let only = |value| vec![Candidate { of: None, value, decimals: FIGURE_DECIMALS, uncertainty }];
            value.map(only).ok_or(reason)
        };
        match criterion {
            Criterion::Slope | Criterion::Offset if self.temperatures_too_far_apart(figures) => {
                Err("temperatures-too-far-apart")
            }
            Criterion::Slope => one(figures.slope_percent, known(|u| u.slope_percent), "one-buffer-only"),
            Criterion::Offset => one(figures.offset_mv, known(|u| u.offset_mv), "one-buffer-only"),
            Criterion::Gain => one(figures.gain_percent, known(|u| u.gain_percent), "one-solution-only"),
            Criterion::AsFoundError | Criterion::AsLeftError => some(self.errors(figures), "nothing-shown"),
            Criterion::CheckStandard => checks
                .standard
                .as_ref()
                .map(|check| {
                    vec![Candidate {
                        of: Some(check.standard.clone()),
                        value: check.error,
                        decimals: self.error_decimals(check.decimals),
                        uncertainty: check.error_uncertainty.map(Known::expanded),
                    }]
                })
                .ok_or(CHECK_NOT_DONE),
            Criterion::Temperature if checks.temperature.is_empty() => Err(CHECK_NOT_DONE),
            Criterion::Temperature => some(temperature_errors(checks), "element-unknown"),
            Criterion::Output if checks.output.is_empty() => Err(CHECK_NOT_DONE),
            Criterion::Output => some(output_errors(checks), "range-unknown"),
            Criterion::Sample => checks
                .sample
                .as_ref()
                .map(|sample| {
                    let decimals = self.error_decimals(sample.decimals);
                    vec![Candidate { of: None, value: sample.difference, decimals, uncertainty: None }]
                })
                .ok_or(CHECK_NOT_DONE),
            Criterion::Settling => settling::times(figures, limit).map(seconds),
            Criterion::JunctionAge => one(self.junction_age_months(stage), None, "junction-date-unknown"),
        }
    }

    /// Errors of the shown values (redox without a shown value: of the potential). An excluded reading still shows.
    fn errors(&self, figures: &Figures) -> Vec<Candidate> {
        let error = |reading: &ReadingRecord| {
            let error = reading.error_ph.or(reading.error_mv)?;
            Some(Candidate {
                of: Some(reading.standard.clone()),
                value: error,
                decimals: self.error_decimals(reading.shown_decimals.unwrap_or(0)),
                uncertainty: reading.error_uncertainty_ph.or(reading.error_uncertainty_mv).map(Known::expanded),
            })
        };
        figures.readings.iter().filter_map(error).collect()
    }

    /// Decimals of an error: those of the value as typed, for pH at least two.
    fn error_decimals(&self, typed: usize) -> usize {
        match self.subject.quantity {
            LoopQuantity::Ph => typed.max(2),
            LoopQuantity::Redox => typed,
        }
    }

    fn temperatures_too_far_apart(&self, figures: &Figures) -> bool {
        let used = figures.readings.iter().filter(|reading| reading.fitted_mv.is_some());
        let (low, high) = used.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), reading| {
            (low.min(reading.temperature_c), high.max(reading.temperature_c))
        });
        high - low > crate::engine::fit::JUDGED_WITHIN_C + 1e-9
    }

    /// Months from the last renewal of the junction (else the installation of the probe) to the visit.
    fn junction_age_months(&self, stage: Stage) -> Option<f64> {
        let visit_day = self.visit.started.instant.date_naive();
        let mut since = junction_since(&self.subject.probe);
        if stage == Stage::AsLeft {
            for remedy in &self.subject.remedies {
                match remedy.kind {
                    RemedyKind::JunctionRenewed => since = Some(visit_day),
                    RemedyKind::ProbeReplaced => {
                        since = remedy.probe.as_ref().and_then(junction_since).or(Some(visit_day))
                    }
                    _ => {}
                }
            }
        }
        since.map(|since| months_between(since, visit_day))
    }

    /// Verdicts from judged criteria.
    pub fn verdicts(&self, criteria: &[CriterionRecord]) -> Verdicts {
        let nothing_done = !self.subject.adjusted && self.subject.remedies.is_empty();
        let as_found = self.verdict(criteria, Stage::AsFound, self.as_found, true);
        let as_left =
            self.as_left.and_then(|state| self.verdict(criteria, Stage::AsLeft, state, self.subject.adjusted));
        let overall = match (self.subject.outcome, nothing_done) {
            (Outcome::Returned, true) => as_found,
            (Outcome::Returned, false) => as_left,
            (Outcome::OutOfService | Outcome::Condemned, _) => None,
        };
        Verdicts { as_found, as_left, overall }
    }

    /// The worst of a state's criteria. Where the shown value decides and none was judged, only a fail can be told.
    fn verdict(
        &self,
        criteria: &[CriterionRecord],
        stage: Stage,
        state: &StateRecord,
        shown_decides: bool,
    ) -> Option<Verdict> {
        let of_stage = || criteria.iter().filter(|criterion| criterion.stage == stage);
        let worst = of_stage().filter_map(|criterion| as_verdict(criterion.outcome)).max();
        let reversed = state.figures.slope_percent.is_some_and(|slope| slope < 0.0);
        let shown_judged = of_stage().any(|criterion| {
            matches!(criterion.name, "as_found_error" | "as_left_error") && criterion.outcome != OutcomeWord::NotJudged
        });
        match (worst, reversed) {
            (_, true) | (Some(Verdict::Fail), false) => Some(Verdict::Fail),
            (worst, false) => worst.filter(|_| shown_judged || !shown_decides),
        }
    }

    /// Condition of the probe left in the loop, by its slope, its offset and how it settled.
    pub fn condition(&self, criteria: &[CriterionRecord]) -> Option<Condition> {
        if self.subject.outcome == Outcome::Condemned {
            return Some(Condition::Unfit);
        }
        if self.subject.quantity == LoopQuantity::Redox {
            return None;
        }
        let nothing_done = !self.subject.adjusted && self.subject.remedies.is_empty();
        let outcome = |name| match (self.as_left, nothing_done) {
            (Some(left), _) if left.not_obtained.is_none() => of_criterion(criteria, name, Stage::AsLeft),
            (_, true) => of_criterion(criteria, name, Stage::AsFound),
            (_, false) => self.after_last_remedy(name),
        };
        let outcomes = [outcome("slope"), outcome("offset")];
        match outcomes.iter().copied().chain([outcome("settling"), self.segments(nothing_done)]).flatten().max() {
            Some(OutcomeWord::Fail) => Some(Condition::Unfit),
            Some(OutcomeWord::Warn | OutcomeWord::ConditionalPass | OutcomeWord::ConditionalFail) => {
                Some(Condition::NeedsService)
            }
            Some(OutcomeWord::Pass) if outcomes.iter().all(|o| *o == Some(OutcomeWord::Pass)) => Some(Condition::Fit),
            Some(OutcomeWord::Pass | OutcomeWord::NotJudged) | None => None,
        }
    }

    /// The worst of the slopes between neighbouring buffers of the probe left, by the limits of the slope.
    fn segments(&self, nothing_done: bool) -> Option<OutcomeWord> {
        let figures = match (self.as_left, nothing_done) {
            (Some(left), _) if left.not_obtained.is_none() => &left.figures,
            (_, true) => &self.as_found.figures,
            (_, false) => self.remedies.last()?.after.as_ref()?,
        };
        let (_, limit) = self.subject.limits.ph.iter().find(|(criterion, _)| *criterion == Criterion::Slope)?;
        let outcome = |segment: &SegmentRecord| {
            let value = segment.slope_percent;
            let candidate = Candidate { of: None, value, decimals: FIGURE_DECIMALS, uncertainty: None };
            judged(&candidate, limit, Criterion::Slope, Decision::Simple).0
        };
        figures.segments.iter().map(outcome).max()
    }

    /// Slope, offset or settling after the last remedy, where the loop has no as-left readings.
    fn after_last_remedy(&self, name: &str) -> Option<OutcomeWord> {
        let figures = self.remedies.last()?.after.as_ref()?;
        let limits = &self.subject.limits;
        let (criterion, limit) = limits.ph.iter().find(|(criterion, _)| criterion.word() == name)?;
        let known = figures.uncertainty.unwrap_or_default();
        let figure = |value: Option<f64>, known: Option<UncertaintyRecord>| {
            let uncertainty = known.map(Into::into);
            let of_value = |value| Candidate { of: None, value, decimals: FIGURE_DECIMALS, uncertainty };
            value.map(of_value).into_iter().collect()
        };
        let candidates: Vec<Candidate> = match criterion {
            Criterion::Slope => figure(figures.slope_percent, known.slope_percent),
            Criterion::Settling => settling::times(figures, limit).map_or_else(|_| Vec::new(), seconds),
            _ => figure(figures.offset_mv, known.offset_mv),
        };
        candidates.iter().map(|candidate| judged(candidate, limit, *criterion, limits.decision).0).max()
    }
}

/// A check that was made in neither state is told once, for the last of them; one made in either is not missed in the other.
fn once_for_missing_checks(criteria: Vec<CriterionRecord>) -> Vec<CriterionRecord> {
    let missing =
        |criterion: &CriterionRecord| matches!(criterion.reason.as_deref(), Some(CHECK_NOT_DONE | settling::NO_TRACE));
    let keep = |at: usize| {
        let criterion = &criteria[at];
        let others = criteria.iter().enumerate().filter(|(i, other)| *i != at && other.name == criterion.name);
        !missing(criterion) || others.into_iter().all(|(i, other)| missing(other) && i < at)
    };
    let kept: Vec<bool> = (0..criteria.len()).map(keep).collect();
    criteria.into_iter().zip(kept).filter_map(|(criterion, kept)| kept.then_some(criterion)).collect()
}

/// Word code of the reason for a check that was not made.
const CHECK_NOT_DONE: &str = "check-not-done";

/// Whether a criterion belongs to a stage.
fn applies(criterion: Criterion, stage: Stage) -> bool {
    match criterion {
        Criterion::AsFoundError => stage == Stage::AsFound,
        Criterion::AsLeftError => stage == Stage::AsLeft,
        Criterion::Slope
        | Criterion::Offset
        | Criterion::Gain
        | Criterion::CheckStandard
        | Criterion::Temperature
        | Criterion::Output
        | Criterion::Sample
        | Criterion::Settling
        | Criterion::JunctionAge => true,
    }
}

/// Unit in which a criterion is judged; empty for pH.
pub fn unit(criterion: Criterion, quantity: LoopQuantity) -> &'static str {
    match (criterion, quantity) {
        (Criterion::Slope | Criterion::Gain, _) => "%",
        (Criterion::Offset, _) => "mV",
        (Criterion::Temperature, _) => "°C",
        (Criterion::Output, _) => "% of span",
        (Criterion::Settling, _) => "s",
        (Criterion::JunctionAge, _) => "months",
        (_, LoopQuantity::Ph) => "",
        (_, LoopQuantity::Redox) => "mV",
    }
}

fn some(candidates: Vec<Candidate>, reason: &'static str) -> Result<Vec<Candidate>, &'static str> {
    match candidates.is_empty() {
        true => Err(reason),
        false => Ok(candidates),
    }
}

/// Settling times to whole seconds.
fn seconds(times: Vec<(String, f64)>) -> Vec<Candidate> {
    let candidate = |(of, value)| Candidate { of: Some(of), value, decimals: 0, uncertainty: None };
    times.into_iter().map(candidate).collect()
}

/// Errors of the shown temperature; of the element itself only where nothing was shown, for leads add to its resistance
/// and the analyser may allow for them.
fn temperature_errors(checks: &ChecksRecord) -> Vec<Candidate> {
    let error = |check: &TemperatureCheckRecord| {
        let uncertainty = check.error_uncertainty_c.map(Known::expanded);
        match (check.error_c, check.element_error_c) {
            (Some(value), _) => Some(Candidate { of: None, value, decimals: check.decimals.max(1), uncertainty }),
            (None, Some(value)) => {
                Some(Candidate { of: Some("element".to_owned()), value, decimals: 1, uncertainty: None })
            }
            (None, None) => None,
        }
    };
    checks.temperature.iter().filter_map(error).collect()
}

/// Output and control room are judged by the same limit.
fn output_errors(checks: &ChecksRecord) -> Vec<Candidate> {
    let errors = checks.output.iter().flat_map(|check| {
        [
            ("output", check.error_percent, check.error_uncertainty_percent),
            ("control room", check.control_room_error_percent, None),
        ]
    });
    let candidate = |(of, error, expanded): (&str, Option<f64>, Option<f64>)| {
        let uncertainty = expanded.map(Known::expanded);
        Some(Candidate { of: Some(of.to_owned()), value: error?, decimals: 2, uncertainty })
    };
    errors.filter_map(candidate).collect()
}

/// Judges a candidate by the rule that its criterion takes from the set; with whether the guard bands meet.
fn judged(candidate: &Candidate, limit: &Limit, criterion: Criterion, decision: Decision) -> (OutcomeWord, bool) {
    let decision = criterion.decision(decision);
    let expanded = candidate.uncertainty.map(|known| known.expanded);
    let Some(judged) = judge(candidate.value, limit, decision, expanded) else {
        return (OutcomeWord::NotJudged, false);
    };
    let outcome = match judged.outcome {
        Judgement::Pass => OutcomeWord::Pass,
        Judgement::Warn => OutcomeWord::Warn,
        Judgement::ConditionalPass => OutcomeWord::ConditionalPass,
        Judgement::ConditionalFail => OutcomeWord::ConditionalFail,
        Judgement::Fail => OutcomeWord::Fail,
    };
    (outcome, judged.no_value_can_pass)
}

/// Probability that the quantity lies within the fail limits, where there is none within the warn limits.
fn probability(candidate: &Candidate, limit: &Limit) -> Option<f64> {
    let known = candidate.uncertainty?;
    let bounds = [limit.fail_interval(), limit.warn_interval()];
    let bounds = bounds.into_iter().find(|bounds| bounds.iter().any(Option::is_some))?;
    Some(within(candidate.value, known.standard, known.dof, bounds))
}

/// A warning does not turn a pass into a fail; what was not judged says nothing.
fn as_verdict(outcome: OutcomeWord) -> Option<Verdict> {
    match outcome {
        OutcomeWord::NotJudged => None,
        OutcomeWord::Pass | OutcomeWord::Warn => Some(Verdict::Pass),
        OutcomeWord::ConditionalPass => Some(Verdict::ConditionalPass),
        OutcomeWord::ConditionalFail => Some(Verdict::ConditionalFail),
        OutcomeWord::Fail => Some(Verdict::Fail),
    }
}

fn of_criterion(criteria: &[CriterionRecord], name: &str, stage: Stage) -> Option<OutcomeWord> {
    criteria.iter().find(|criterion| criterion.name == name && criterion.stage == stage).map(|c| c.outcome)
}

fn limit_record(limit: &Limit) -> LimitRecord {
    let ([warn_low, warn_high], [fail_low, fail_high]) = (limit.warn_interval(), limit.fail_interval());
    let bounds = BoundWord::WORDS.iter().filter_map(|(_, word)| limit.bound(*word));
    LimitRecord {
        warn_low,
        warn_high,
        fail_low,
        fail_high,
        decimals: bounds.map(|bound| bound.decimals).max().unwrap_or(0),
    }
}

fn junction_since(probe: &crate::client::Probe) -> Option<NaiveDate> {
    probe.junction_renewed.as_ref().or(probe.installed.as_ref()).map(|date| date.date)
}

/// Calendar months, with the days of a begun month as a share of 30.4 days (a year's twelfth).
fn months_between(from: NaiveDate, to: NaiveDate) -> f64 {
    let whole = (to.year() - from.year()) * 12 + to.month() as i32 - from.month() as i32;
    f64::from(whole) + (f64::from(to.day()) - f64::from(from.day())) / 30.4
}
