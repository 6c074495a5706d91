//! The choice of gauges, from what each input does to them and to the figure.

use super::{Accuracy, Effect, Gauge, Kind};

/// A gauge that was chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// Its number.
    pub gauge: usize,
    /// Standard deviation of the figure with it and all that were chosen before [SI].
    pub deviation: f64,
}

/// Share of the range by which a gauge must narrow it to be chosen: less would not be seen in three digits of it.
const LEAST: f64 = 1e-3;

/// The `count` gauges that narrow the figure most, one after another, when each point is tested `tests` times; fewer where no other narrows it.
#[must_use]
pub fn choose(
    effects: &[Effect],
    gauges: &[Gauge],
    accuracy: impl Fn(Kind) -> Accuracy,
    tests: usize,
    count: usize,
) -> Vec<Choice> {
    let figure = figures(effects);
    let mut known = one(effects.len());
    let mut chosen: Vec<Choice> = Vec::new();
    while chosen.len() < count {
        let free = (0..gauges.len()).filter(|gauge| !chosen.iter().any(|choice| choice.gauge == *gauge));
        let with = free.map(|gauge| {
            let after = with_gauge(&known, effects, gauge, accuracy(gauges[gauge].kind), tests);
            (gauge, variance(&after, &figure), after)
        });
        // The first of equals, so that the order of the case decides.
        let best = with.reduce(|best, other| if other.1 < best.1 { other } else { best });
        let Some((gauge, variance, after)) = best else { break };
        let deviation = variance.max(0.0).sqrt();
        let before = chosen.last().map_or(unmeasured(effects), |last| last.deviation);
        // Written so that what is no number narrows nothing.
        if deviation.is_nan() || deviation >= (1.0 - LEAST) * before {
            break;
        }
        known = after;
        chosen.push(Choice { gauge, deviation });
    }
    chosen
}

/// Standard deviation of the figure with the gauges of these numbers, when each point is tested `tests` times [SI].
#[must_use]
pub fn narrowed(
    effects: &[Effect],
    gauges: &[Gauge],
    chosen: &[usize],
    accuracy: impl Fn(Kind) -> Accuracy,
    tests: usize,
) -> f64 {
    let with =
        |known: Vec<Vec<f64>>, gauge: &usize| with_gauge(&known, effects, *gauge, accuracy(gauges[*gauge].kind), tests);
    let known = chosen.iter().fold(one(effects.len()), with);
    variance(&known, &figures(effects)).max(0.0).sqrt()
}

/// Standard deviation of the figure before anything is measured [SI].
#[must_use]
pub fn unmeasured(effects: &[Effect]) -> f64 {
    effects.iter().map(|effect| effect.figure * effect.figure).sum::<f64>().sqrt()
}

fn figures(effects: &[Effect]) -> Vec<f64> {
    effects.iter().map(|effect| effect.figure).collect()
}

/// Covariance of the inputs before, each over its standard deviation.
fn one(inputs: usize) -> Vec<Vec<f64>> {
    (0..inputs).map(|row| (0..inputs).map(|column| if row == column { 1.0 } else { 0.0 }).collect()).collect()
}

fn variance(known: &[Vec<f64>], along: &[f64]) -> f64 {
    known.iter().zip(along).map(|(row, a)| a * row.iter().zip(along).map(|(value, b)| value * b).sum::<f64>()).sum()
}

/// The covariance when a gauge has read at all points: what it is always off by is one more unknown, which its readings share.
fn with_gauge(known: &[Vec<f64>], effects: &[Effect], gauge: usize, accuracy: Accuracy, tests: usize) -> Vec<Vec<f64>> {
    let inputs = known.len();
    let mut wide: Vec<Vec<f64>> = known.iter().map(|row| row.iter().copied().chain([0.0]).collect()).collect();
    wide.push(
        (0..=inputs).map(|column| if column == inputs { accuracy.gauge * accuracy.gauge } else { 0.0 }).collect(),
    );
    let noise = accuracy.test * accuracy.test / tests.max(1) as f64;
    for point in 0..effects.first().map_or(0, |effect| effect.readings.len()) {
        let row: Vec<f64> = effects.iter().map(|effect| effect.readings[point][gauge]).chain([1.0]).collect();
        let gain: Vec<f64> = wide.iter().map(|known| known.iter().zip(&row).map(|(a, b)| a * b).sum()).collect();
        let total = noise + gain.iter().zip(&row).map(|(a, b)| a * b).sum::<f64>();
        if total <= 0.0 {
            continue;
        }
        for (a, known) in wide.iter_mut().enumerate() {
            known.iter_mut().enumerate().for_each(|(b, value)| *value -= gain[a] * gain[b] / total);
        }
    }
    wide.truncate(inputs);
    wide.iter_mut().for_each(|row| row.truncate(inputs));
    wide
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Inputs one by one, with what each does to figure and gauges at one point.
    fn effects(rows: &[(f64, &[f64])]) -> Vec<Effect> {
        rows.iter().map(|(figure, readings)| Effect { figure: *figure, readings: vec![readings.to_vec()] }).collect()
    }

    fn gauges(count: usize) -> Vec<Gauge> {
        (0..count).map(|number| Gauge { place: format!("{number}"), kind: Kind::Pressure }).collect()
    }

    #[test]
    fn one_gauge_narrows_one_input_as_two_normal_laws_do() {
        // Prior of variance 9 in the figure; a reading of the input itself with variance 1/3 of the prior's.
        let effects = effects(&[(3.0, &[1.0])]);
        let accuracy = |_| Accuracy { gauge: 0.0, test: (1.0_f64 / 3.0).sqrt() };
        assert!((unmeasured(&effects) - 3.0).abs() < 1e-12);
        let once = choose(&effects, &gauges(1), accuracy, 1, 1)[0].deviation;
        assert!((once - 3.0 * (1.0_f64 / 4.0).sqrt()).abs() < 1e-12, "{once}");
        // Three tests have a third of the variance; what the gauge is always off by stays.
        let thrice = choose(&effects, &gauges(1), accuracy, 3, 1)[0].deviation;
        assert!((thrice - 3.0 * (1.0_f64 / 10.0).sqrt()).abs() < 1e-12, "{thrice}");
        let biased = |_| Accuracy { gauge: 1.0, test: 1e-6 };
        let biased = choose(&effects, &gauges(1), biased, 1000, 1)[0].deviation;
        assert!((biased - 3.0 * 0.5_f64.sqrt()).abs() < 1e-6, "{biased}");
    }

    #[test]
    fn the_gauge_that_sees_what_matters_comes_first_and_none_twice() {
        // The figure goes with the second input; the first gauge sees the first alone, the second both, the third the second alone.
        let effects = effects(&[(0.1, &[5.0, 5.0, 0.0]), (2.0, &[0.0, 5.0, 5.0])]);
        let accuracy = |_| Accuracy { gauge: 0.5, test: 0.5 };
        let chosen = choose(&effects, &gauges(3), accuracy, 1, 5);
        assert_eq!(chosen.iter().map(|choice| choice.gauge).collect::<Vec<_>>()[0], 2);
        assert_eq!(chosen.len(), 3);
        assert!(chosen.windows(2).all(|pair| pair[1].deviation <= pair[0].deviation));
        assert!(chosen[0].deviation < 0.2 * unmeasured(&effects));
    }

    #[test]
    fn a_gauge_that_feels_nothing_of_the_figure_is_not_chosen() {
        let effects = effects(&[(0.0, &[5.0, 0.0]), (2.0, &[0.0, 5.0])]);
        let accuracy = |_| Accuracy { gauge: 0.5, test: 0.5 };
        let chosen = choose(&effects, &gauges(2), accuracy, 1, 2);
        assert!(chosen.len() == 1 && chosen[0].gauge == 1, "{chosen:?}");
    }

    #[test]
    fn two_points_tell_a_gauge_that_is_always_off_from_what_it_reads() {
        // The reading goes with the input at one point and not at all at the other, so that the difference is free of what is always off.
        let effects = vec![Effect { figure: 1.0, readings: vec![vec![1.0], vec![0.0]] }];
        let accuracy = |_| Accuracy { gauge: 100.0, test: 0.1 };
        let chosen = choose(&effects, &gauges(1), accuracy, 1, 1);
        // Variance of the difference of two readings: 0.02 beside a prior of 1.
        assert!((chosen[0].deviation - (0.02_f64 / 1.02).sqrt()).abs() < 1e-4, "{chosen:?}");
    }
}
