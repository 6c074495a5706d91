//! Rows of a log over time: their usual step, equal times, and rises.

use super::LogRow;

/// Gap over which values are not joined, over the usual time between rows, where the case does not say it.
const USUAL_GAPS: f64 = 5.0;

pub(super) fn time_between(pair: &[LogRow]) -> Option<f64> {
    Some(pair[1].time? - pair[0].time?)
}

/// Gap beyond which two rows of a log with this usual step are not neighbours [s].
pub(super) fn usual_gap(step: f64) -> f64 {
    USUAL_GAPS * step
}

/// Median of the times between those rows of one run that count [s].
pub(super) fn usual_step(rows: &[LogRow], counts: impl Fn(&LogRow) -> bool) -> Option<f64> {
    let rows: Vec<&LogRow> = rows.iter().filter(|row| counts(row)).collect();
    let pairs = rows.windows(2).filter(|pair| pair[0].run == pair[1].run);
    median(pairs.filter_map(|pair| Some(pair[1].time? - pair[0].time?)).filter(|step| *step > 0.0).collect())
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

/// Rows at equal times: the mean of what a channel has within half a step on both sides where that is several values, else in a straight line between
/// its own neighbouring values, but not over more than `gap`, by default some of its own usual steps.
pub(super) fn resampled(rows: &[LogRow], every: f64, gap: Option<f64>) -> Vec<LogRow> {
    let mut out = Vec::new();
    for run in rows.chunk_by(|a, b| a.run == b.run) {
        let (Some(from), Some(to)) = (run[0].time, run[run.len() - 1].time) else { return rows.to_vec() };
        let channels = run[0].values.len();
        let series: Vec<Vec<(f64, f64)>> = (0..channels)
            .map(|channel| run.iter().filter_map(|row| Some((row.time?, row.values[channel]?))).collect())
            .collect();
        let usual = |series: &Vec<(f64, f64)>| median(series.windows(2).map(|pair| pair[1].0 - pair[0].0).collect());
        let own = |series| usual(series).map_or(f64::INFINITY, |step| USUAL_GAPS * step);
        let gaps: Vec<f64> = series.iter().map(|series| gap.unwrap_or_else(|| own(series))).collect();
        // Where no channel is joined there is nothing to tell: a clock that jumps does not make a million empty rows.
        let widest = gaps.iter().copied().filter(|gap| gap.is_finite()).fold(0.0, f64::max);
        let mut step = 0.0;
        for pair in run.windows(2) {
            let (Some(before), Some(behind)) = (pair[0].time, pair[1].time) else { continue };
            if widest > 0.0 && behind - before > widest {
                if from + step * every <= before {
                    push(run, &series, &gaps, [from + step * every, every], &mut out);
                }
                step = ((behind - from) / every).ceil();
                continue;
            }
            while from + step * every < behind {
                push(run, &series, &gaps, [from + step * every, every], &mut out);
                step += 1.0;
            }
        }
        if from + step * every <= to * (1.0 + f64::EPSILON) {
            push(run, &series, &gaps, [(from + step * every).min(to), every], &mut out);
        }
    }
    out
}

/// One row at a time of a run, of so much time.
fn push(run: &[LogRow], series: &[Vec<(f64, f64)>], gaps: &[f64], [time, every]: [f64; 2], out: &mut Vec<LogRow>) {
    let at = run.partition_point(|row| row.time.is_some_and(|known| known <= time)).saturating_sub(1);
    let values = series
        .iter()
        .zip(gaps)
        .map(|(series, gap)| around(series, time, every).or_else(|| between(series, time, *gap)));
    let values = values.collect();
    out.push(LogRow { line: run[at].line, time: Some(time), run: run[0].run, values });
}

/// The mean of the values within half a step on both sides, of two or more.
fn around(series: &[(f64, f64)], time: f64, every: f64) -> Option<f64> {
    let from = series.partition_point(|(known, _)| *known < time - 0.5 * every);
    let to = series.partition_point(|(known, _)| *known < time + 0.5 * every);
    let values = series.get(from..to).filter(|values| values.len() > 1)?;
    Some(values.iter().map(|value| value.1).sum::<f64>() / values.len() as f64)
}

fn between(series: &[(f64, f64)], time: f64, gap: f64) -> Option<f64> {
    let next = series.partition_point(|(known, _)| *known < time);
    let (after, value_after) = *series.get(next)?;
    if after <= time {
        return Some(value_after);
    }
    let (before, value_before) = *series.get(next.checked_sub(1)?)?;
    let share = (time - before) / (after - before);
    (after - before <= gap).then_some(value_before + share * (value_after - value_before))
}

/// Share of the whole range by which a value must turn for a rise to end, and over which it must go to be a pull. So that noise is neither.
const TURN: f64 = 0.1;
const PULL: f64 = 0.3;

/// Rises in a list of (row, run, value): first and last row of each.
pub(super) fn rises(values: &[(usize, usize, f64)]) -> Vec<(usize, usize)> {
    let all = || values.iter().map(|value| value.2);
    let range = all().fold(f64::NEG_INFINITY, f64::max) - all().fold(f64::INFINITY, f64::min);
    let mut found = Vec::new();
    for run in values.chunk_by(|a, b| a.1 == b.1) {
        let (mut low, mut high, mut rising) = (0, 0, true);
        let mut end = |low: usize, high: usize| {
            if run[high].2 - run[low].2 >= PULL * range && high > low {
                found.push((run[low].0, run[high].0));
            }
        };
        for (index, (_, _, value)) in run.iter().enumerate() {
            if rising {
                if *value > run[high].2 {
                    high = index;
                } else if *value < run[low].2 && high == low {
                    (low, high) = (index, index);
                } else if run[high].2 - value > TURN * range {
                    end(low, high);
                    (rising, low) = (false, index);
                }
            } else if *value < run[low].2 {
                low = index;
            } else if value - run[low].2 > TURN * range {
                (rising, high) = (true, index);
            }
        }
        if rising {
            end(low, high);
        }
    }
    found
}

#[cfg(test)]
mod tests;
