//! The criteria of a limits file: which a quantity has, in which unit, and whether their bounds agree.

use super::{Bound, BoundWord, Criterion, Limit};
use crate::problem::Problem;
use crate::quantity::{CelsiusDifference, Millivolt, Month, Percent, Ph, Second, Unit};
use crate::yaml::{At, Keys};

/// Reads the criteria of pH loops; `set` names the limits in messages.
pub(super) fn ph(at: &At<'_>, set: &str) -> Vec<(Criterion, Limit)> {
    let Some(keys) = at.keys("criteria of pH loops (slope, offset, as_found_error …)") else {
        return Vec::new();
    };
    let mut section = Section { keys, set, name: "pH", limits: Vec::new() };
    section.read::<Percent>(Criterion::Slope);
    section.read::<Millivolt>(Criterion::Offset);
    section.shared::<Ph>();
    section.read::<Month>(Criterion::JunctionAge);
    section.refuse(Criterion::Gain, "redox");
    section.keys.finish();
    section.limits
}

/// Reads the criteria of redox loops; `set` names the limits in messages.
pub(super) fn redox(at: &At<'_>, set: &str) -> Vec<(Criterion, Limit)> {
    let Some(keys) = at.keys("criteria of redox loops (as_found_error, as_left_error, gain …)") else {
        return Vec::new();
    };
    let mut section = Section { keys, set, name: "redox", limits: Vec::new() };
    section.read::<Percent>(Criterion::Gain);
    section.shared::<Millivolt>();
    section.refuse(Criterion::Slope, "pH");
    section.refuse(Criterion::Offset, "pH");
    section.refuse(Criterion::JunctionAge, "pH");
    section.keys.finish();
    section.limits
}

/// One of `pH` and `redox` being read.
struct Section<'t, 's> {
    keys: Keys<'t>,
    set: &'s str,
    name: &'static str,
    limits: Vec<(Criterion, Limit)>,
}

impl Section<'_, '_> {
    /// The criteria that both quantities have; those in the quantity itself have the unit `U`.
    fn shared<U: Unit>(&mut self) {
        self.read::<U>(Criterion::AsFoundError);
        self.read::<U>(Criterion::AsLeftError);
        self.read::<U>(Criterion::CheckStandard);
        self.read::<CelsiusDifference>(Criterion::Temperature);
        self.read::<Percent>(Criterion::Output);
        self.read::<U>(Criterion::Sample);
        self.read::<Second>(Criterion::Settling);
    }

    fn read<U: Unit>(&mut self, criterion: Criterion) {
        let Some(at) = self.keys.get(criterion.word()) else {
            return;
        };
        let subject = Subject { criterion, field: format!("{}, `{}.{}`", self.set, self.name, criterion.word()) };
        if let Some(limit) = subject.limit::<U>(&at) {
            self.limits.push((criterion, limit));
        }
    }

    /// Tells a criterion of the other quantity.
    fn refuse(&mut self, criterion: Criterion, belongs_to: &str) {
        let Some(at) = self.keys.get(criterion.word()) else {
            return;
        };
        at.tell(Problem::error(
            "criterion-of-other-quantity",
            &at.place(),
            format!("found `{word}` ({}, `{}.{word}`)", self.set, self.name, word = criterion.word()),
            format!("`{}` is a figure of {belongs_to} loops", criterion.word()),
            format!("move it under `{belongs_to}:`, or remove it"),
        ));
    }
}

/// The criterion being read, and how messages name it.
pub(super) struct Subject {
    /// Which criterion.
    pub criterion: Criterion,
    /// Set, revision and field, for messages.
    pub field: String,
}

impl Subject {
    fn limit<U: Unit>(&self, at: &At<'_>) -> Option<Limit> {
        let mut keys = at.keys("limits like {warn_below: …, fail_below: …}")?;
        let mut bound = |word: BoundWord| match keys.get(word.word()) {
            None => Ok(None),
            Some(at) => self.bound::<U>(&at, word).map(Some).ok_or(()),
        };
        let read = BoundWord::WORDS.iter().map(|(_, word)| bound(*word)).collect::<Vec<_>>();
        keys.finish();
        // A faulty bound has been told; the others are not judged without it.
        let read: Vec<Option<Bound>> = read.into_iter().collect::<Result<_, ()>>().ok()?;
        let [warn_below, warn_above, warn_beyond, fail_below, fail_above, fail_beyond] = read.try_into().ok()?;
        let limit = Limit { warn_below, warn_above, warn_beyond, fail_below, fail_above, fail_beyond };
        self.agrees(at, &limit).then_some(limit)
    }

    /// Whether the bounds of the criterion agree with each other.
    fn agrees(&self, at: &At<'_>, limit: &Limit) -> bool {
        let (fail, warn) = (limit.fail_interval(), limit.warn_interval());
        if fail.iter().chain(&warn).all(Option::is_none) {
            // A misspelt limit has been told as an unknown key.
            if at.keys("limits").is_some_and(|mut keys| keys.entries().is_empty()) {
                self.tell(
                    at,
                    "limit-empty",
                    "found no limit",
                    "a criterion without a limit judges nothing",
                    "add a limit such as fail_beyond, or remove the criterion",
                );
            }
            return false;
        }
        let reversed = [("fail", fail), ("warn", warn)].into_iter().find_map(|(word, interval)| match interval {
            [Some(low), Some(high)] if low > high => Some((word, low, high)),
            _ => None,
        });
        if let Some((word, low, high)) = reversed {
            let what = format!("found {word}_below {low} above {word}_above {high}");
            self.tell(
                at,
                "limit-reversed",
                &what,
                "no value could be inside both",
                "exchange the two, or correct the one that is wrong",
            );
            return false;
        }
        let low = matches!((warn[0], fail[0]), (Some(warn), Some(fail)) if warn <= fail);
        let high = matches!((warn[1], fail[1]), (Some(warn), Some(fail)) if warn >= fail);
        if low || high {
            let end = usize::from(!low);
            let figure = |interval: [Option<f64>; 2]| interval[end].unwrap_or_default();
            let what = format!("found the warn limit {} at or outside the fail limit {}", figure(warn), figure(fail));
            self.tell(
                at,
                "warn-never-reached",
                &what,
                "a value fails before it could warn",
                "put the warn limit inside the fail limit, or remove it",
            );
        }
        !low && !high
    }

    fn tell(&self, at: &At<'_>, code: &'static str, what: &str, why: &str, fix: &str) {
        at.tell(Problem::error(code, &at.place(), format!("{what} ({})", self.field), why, fix));
    }
}

#[cfg(test)]
pub(super) mod tests {
    use crate::limits::tests::problems;
    use crate::problem::Problem;

    pub(in crate::limits) const HEAD: &str = "limits: {name: effluent-ph, revision: 3}\n";

    /// The only problem of one line under `pH:` (line 3), or under the section named.
    pub(in crate::limits) fn only(section: &str, line: &str) -> Problem {
        let mut problems = problems(&format!("{HEAD}{section}:\n  {line}\n"));
        assert_eq!(problems.len(), 1, "{line}: {problems:#?}");
        problems.remove(0)
    }

    pub(in crate::limits) fn assert_ph(line: &str, code: &str, column: u32, fix: &str) {
        let problem = only("pH", line);
        let found = (problem.code, problem.place.line, problem.place.column, problem.fix.as_str());
        assert_eq!(found, (code, 3, column, fix), "{line}");
        let field = format!("(limits `effluent-ph`, revision 3, `pH.{}`)", line.split(':').next().unwrap_or_default());
        assert!(problem.what.contains(&field), "{}", problem.what);
    }

    #[test]
    fn a_lower_limit_above_the_upper_is_refused() {
        let fix = "exchange the two, or correct the one that is wrong";
        assert_ph("slope: {fail_below: 105 %, fail_above: 70 %}", "limit-reversed", 10, fix);
        assert_ph("offset: {fail_below: 20, fail_beyond: 10}", "limit-reversed", 11, fix);
    }

    #[test]
    fn a_warning_that_is_never_reached_is_refused() {
        let fix = "put the warn limit inside the fail limit, or remove it";
        assert_ph("slope: {warn_below: 70, fail_below: 80}", "warn-never-reached", 10, fix);
        assert_ph("slope: {warn_above: 106, fail_above: 105}", "warn-never-reached", 10, fix);
        assert_ph("offset: {warn_beyond: 50, fail_beyond: 50}", "warn-never-reached", 11, fix);
        assert_ph("offset: {warn_beyond: 30, fail_above: 25}", "warn-never-reached", 11, fix);
    }

    #[test]
    fn criteria_of_the_other_quantity_are_told() {
        assert_ph("gain: {fail_below: 90}", "criterion-of-other-quantity", 9, "move it under `redox:`, or remove it");
        for line in ["slope: {fail_below: 80}", "offset: {fail_beyond: 50}", "junction_age: {warn_beyond: 12}"] {
            let problem = only("redox", line);
            assert_eq!((problem.code, problem.place.line), ("criterion-of-other-quantity", 3));
            assert_eq!(problem.fix, "move it under `pH:`, or remove it");
        }
    }

    #[test]
    fn misspelt_criteria_and_limit_words_get_a_suggestion() {
        let problem = only("pH", "slop: {fail_below: 80}");
        assert_eq!(
            (problem.code, problem.place.column, problem.fix.as_str()),
            ("unknown-key", 3, "did you mean `slope`?")
        );
        let problems = problems(&format!("{HEAD}pH:\n  offset: {{fail_beyon: 50}}\n"));
        let found: Vec<_> = problems.iter().map(|p| (p.code, p.fix.as_str())).collect();
        assert_eq!(found, [("unknown-key", "did you mean `fail_beyond`?")]);
    }

    #[test]
    fn a_criterion_without_limit_is_refused() {
        assert_ph("slope: {}", "limit-empty", 10, "add a limit such as fail_beyond, or remove the criterion");
    }
}
