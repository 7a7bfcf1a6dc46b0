//! How each reading settled, from its trace, and the time that is judged.
//!
//! Without a trace nothing is known: `settled` is null, a waiting time alone does not tell.

use super::{Figures, ReadingRecord, SettlingRecord};
use crate::engine::settling::{self, Taken, WITHIN_REDOX_MV, was_settled, within_0_01_ph};
use crate::limits::{Decision, Judgement, Limit, judge};
use crate::visit::Reading;

/// Why no settling time is judged: no reading of the state has a trace.
pub(super) const NO_TRACE: &str = "no-trace";

/// Why no settling time is judged: the traces there are do not tell it.
const NOT_TOLD: &str = "settling-not-told";

/// Hangs traces and what they tell on the rows of the readings; the slope is that of the same set of readings.
pub(super) fn hang(rows: &mut [ReadingRecord], readings: &[Reading], slope_percent: Option<f64>) {
    for (row, reading) in rows.iter_mut().zip(readings).filter(|(_, reading)| !reading.trace.is_empty()) {
        row.trace = reading.trace.iter().map(|(s, mv)| [s.value, mv.value]).collect();
        row.trace_typed = reading.trace.iter().map(|(s, mv)| [s.text.clone(), mv.text.clone()]).collect();
        let (within_mv, theoretical) = match row.nernst_mv_per_ph {
            Some(nernst) => within_0_01_ph(slope_percent, nernst),
            None => (WITHIN_REDOX_MV, false),
        };
        let points: Vec<(f64, f64)> = row.trace.iter().map(|[s, mv]| (*s, *mv)).collect();
        let step_mv = reading.trace.iter().map(|(_, mv)| mv.step).fold(0.0, f64::max);
        let told = settling::settling(&points, within_mv, step_mv);
        let taken = Taken {
            mv: reading.mv.as_ref().map(super::states::step),
            after_s: reading.after.as_ref().map(|after| after.value),
        };
        row.settled = was_settled(&points, &told, taken, within_mv);
        let is_ph = row.nernst_mv_per_ph.is_some();
        row.settling = Some(SettlingRecord {
            within_mv,
            by_theoretical_slope: theoretical,
            final_mv: told.final_mv,
            time_to_90_s: told.time_to_90_s,
            time_to_0_01_ph_s: told.time_to_within_s.filter(|_| is_ph),
            time_to_1_mv_s: told.time_to_within_s.filter(|_| !is_ph),
            drift_mv_per_min: told.drift_mv_per_min,
            noise_mv: told.noise_mv,
            longer_than_s: told.longer_than_s,
            told: told.untold.map(|untold| untold.code().to_owned()),
        });
    }
}

/// Times that the settling criterion judges: standard, time in s. An excluded reading settled as well.
///
/// A probe still on its way at the end of its trace takes longer than that: it is judged where the limit is passed by then,
/// else no time is judged, unless another one is outside already.
///
/// # Errors
/// The word code of the reason why there is none.
pub(super) fn times(figures: &Figures, limit: &Limit) -> Result<Vec<(String, f64)>, &'static str> {
    let traced: Vec<(&ReadingRecord, &SettlingRecord)> =
        figures.readings.iter().filter_map(|row| Some((row, row.settling.as_ref()?))).collect();
    if traced.is_empty() {
        return Err(NO_TRACE);
    }
    let is_outside =
        |time: f64| judge(time, limit, Decision::Simple, None).is_some_and(|judged| judged.outcome != Judgement::Pass);
    let times: Vec<(String, f64)> = traced
        .iter()
        .filter_map(|(row, told)| {
            let at_least = told.longer_than_s.filter(|longer| is_outside(*longer));
            Some((row.standard.clone(), told.time_to_within_s().or(at_least)?))
        })
        .collect();
    let open = traced.iter().any(|(_, told)| told.longer_than_s.is_some_and(|longer| !is_outside(longer)));
    let decided = times.iter().any(|(_, time)| is_outside(*time));
    match times.is_empty() || open && !decided {
        true => Err(NOT_TOLD),
        false => Ok(times),
    }
}
