//! A tract over the life of its filters: from clean to the dust that they are made for.

use super::{Figures, KnownPoint};
use crate::case::{Case, NewValue};
use crate::error::{CaseError, Error, Problem};
use crate::loss::Deviations;
use crate::network::JointState;

/// Most steps of the search for the fall of what passes; near 1, where both efficiencies are nearly one, each step halves the distance.
const MOST_STEPS: usize = 100;

/// A filter whose case says how much dust it has and takes.
#[derive(Debug, Clone, PartialEq)]
pub struct AgingFilter {
    /// Part.
    pub part: String,
    /// Dust to the end of its life [kg].
    pub capacity: f64,
    /// Share of the dust that it keeps: at first, and over its whole life.
    pub efficiency: Option<[f64; 2]>,
    /// Test dust of its efficiency.
    pub dust: Option<String>,
    /// Rise of its drop over the clean one at which it is to be changed [Pa].
    pub service_limit: Option<f64>,
}

/// The tract with so much dust in its filters.
#[derive(Debug, Clone, PartialEq)]
pub struct Age {
    /// Dust over what each filter takes in its life.
    pub share: f64,
    /// Total pressure lost in each filter [Pa], and its mass flow [kg/s], in the order of the filters.
    pub filters: Vec<[f64; 2]>,
    /// What the point comes to.
    pub figures: Figures,
}

impl AgingFilter {
    /// The filters of `case` that have a mass of dust.
    ///
    /// # Errors
    /// There is none, or one does not say how much it takes.
    pub fn of(case: &Case) -> Result<Vec<Self>, CaseError> {
        let numbers = case.numbers();
        let value = |path: String| numbers.iter().find(|number| number.path == path).map(|number| number.value);
        let wrong = |path: String, found: &str, expected: &str| CaseError {
            problems: vec![Problem {
                location: case.location(&path),
                path,
                found: found.to_owned(),
                expected: expected.to_owned(),
                nearest: None,
            }],
        };
        let mut filters = Vec::new();
        let masses = numbers.iter().filter_map(|number| number.path.strip_prefix("parts.")?.strip_suffix(".dust.mass"));
        for part in masses {
            let dust = format!("parts.{part}.dust");
            let sheet = format!("{dust}.loading.mass[");
            let last = numbers.iter().rfind(|number| number.path.starts_with(&sheet)).map(|number| number.value);
            let Some(capacity) = value(format!("{dust}.capacity")).or(last) else {
                return Err(wrong(dust, "a mass of dust without `capacity` or `loading`", "one of them"));
            };
            let initial = value(format!("{dust}.efficiency.initial"));
            filters.push(Self {
                part: part.to_owned(),
                capacity,
                efficiency: initial.zip(value(format!("{dust}.efficiency.full_life"))).map(|(first, all)| [first, all]),
                dust: case.as_written(&format!("{dust}.efficiency.dust")).map(str::to_owned),
                service_limit: value(format!("{dust}.service_limit")),
            });
        }
        if filters.is_empty() {
            let expected = "`dust: {mass: 0 g, capacity: 250 g}` in a filter, or `loading` with a sheet of ISO 5011";
            return Err(wrong("parts".to_owned(), "no filter with a mass of dust", expected));
        }
        Ok(filters)
    }

    /// Share of the dust that it keeps just now, when `mass` [kg] has been fed.
    #[must_use]
    pub fn keeps(&self, mass: f64) -> Option<f64> {
        let life = mass / self.capacity;
        let [initial, _] = self.efficiency?;
        Some(match self.passing()? {
            Passing::Nothing => 1.0,
            Passing::Falling { first, rate } if life > 0.0 => 1.0 - first * libm::exp(-rate * life),
            Passing::Rising { first, slope } if life > 0.0 => 1.0 - (first + slope * life),
            Passing::Falling { .. } | Passing::Rising { .. } => initial,
        })
    }

    /// Dust that has passed through it when `mass` [kg] has been fed [kg]: the integral of the share that passes.
    #[must_use]
    pub fn passed(&self, mass: f64) -> Option<f64> {
        let life = mass / self.capacity;
        Some(match self.passing()? {
            Passing::Nothing => 0.0,
            Passing::Falling { first, rate } if rate > 0.0 => -self.capacity * first * libm::expm1(-rate * life) / rate,
            Passing::Falling { first, .. } => first * mass,
            Passing::Rising { first, slope } => mass * (first + 0.5 * slope * life),
        })
    }

    /// How the share that passes goes over the life. Its first value and its mean are the initial and the full-life efficiency of ISO 5011; what lies
    /// between is not in that standard. That it falls exponentially, as the cake itself comes to filter, is ours: common practice, no source. An
    /// element that lets more through in the mean than at first has no cake that would say how: a straight line.
    fn passing(&self) -> Option<Passing> {
        let [initial, full_life] = self.efficiency?;
        let (first, mean) = (1.0 - initial, 1.0 - full_life);
        Some(if mean <= 0.0 {
            Passing::Nothing
        } else if mean <= first {
            Passing::Falling { first, rate: rate_of_fall(mean / first) }
        } else {
            Passing::Rising { first, slope: 2.0 * (mean - first) }
        })
    }
}

/// Share of the dust that passes, over the life of a filter from 0 to 1.
enum Passing {
    Nothing,
    /// `first exp(-rate life)`.
    Falling {
        first: f64,
        rate: f64,
    },
    /// `first + slope life`.
    Rising {
        first: f64,
        slope: f64,
    },
}

/// The k at which the mean of `exp(-k x)` over x from 0 to 1, `(1 - exp(-k)) / k`, is `mean`, more than 0 and at most 1.
fn rate_of_fall(mean: f64) -> f64 {
    // k mean - (1 - exp(-k)) is convex and positive at 1 / mean, so that Newton's steps from there fall to the root and never beyond it.
    let mut rate = 1.0 / mean;
    for _ in 0..MOST_STEPS {
        let slope = mean - libm::exp(-rate);
        let next = rate - (rate * mean + libm::expm1(-rate)) / slope;
        if !(next < rate && next > 0.0) {
            break;
        }
        rate = next;
    }
    if mean < 1.0 { rate } else { 0.0 }
}

/// The tract of `case` at `point`, all its filters with dust of the same share of what they take.
///
/// # Errors
/// A point that is not one state, or a case that has no steady state.
pub fn age(
    case: &Case,
    point: &str,
    filters: &[AgingFilter],
    share: f64,
    near: Option<&KnownPoint>,
) -> Result<(Age, KnownPoint), Error> {
    let paths: Vec<(String, f64)> =
        filters.iter().map(|filter| (format!("parts.{}.dust.mass", filter.part), share * filter.capacity)).collect();
    let changes: Vec<(&str, NewValue)> =
        paths.iter().map(|(path, mass)| (path.as_str(), NewValue::Si(*mass))).collect();
    let case = case.with(&changes)?;
    let known = match near {
        Some(near) => near.neighbour(&case, point, Deviations::default())?,
        None => KnownPoint::of(&case, point)?,
    };
    let work = known.work()?;
    let lost = |filter: &AgingFilter| {
        known.network.joints.iter().zip(&work.joints).find_map(|(joint, state)| {
            let place = joint.losses.iter().position(|loss| loss.part == filter.part)?;
            let JointState::Series(state) = state else { return None };
            let lost = (state.total_pressures[place] - state.total_pressures[place + 1]).abs();
            Some([lost, state.mass_flow.abs()])
        })
    };
    let filters = filters.iter().map(|filter| lost(filter).unwrap_or([f64::NAN; 2])).collect();
    Ok((Age { share, filters, figures: known.figures.clone() }, known))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tract(dust: &str) -> Case {
        let text = format!(
            "parts:\n  nose: {{kind: mouth, from: outside, area: 100 cm2}}\n  box: {{kind: plenum, volume: 8 L}}\n  \
             filter: {{kind: filter, media_area: 0.2 m2, dust: {dust}, curve: {{flow: 60 120 180 240 g/s, drop: 90 205 345 510 Pa, at: [20 degC, 101.3 kPa]}}}}\n  \
             tube: {{kind: duct, length: 300 mm, diameter: 80 mm}}\n  turbo: {{kind: draw, flow: 180 g/s}}\n\
             flow: [[nose, box, filter, tube, turbo]]\nrun: {{until: steady}}\n"
        );
        Case::from_text("tract.yaml", &text).unwrap_or_else(|error| panic!("{error}"))
    }

    #[test]
    fn a_sheet_of_loading_comes_out_at_its_own_flow() {
        let sheet =
            "{mass: 0 g, loading: {mass: 0 100 200 g, drop: 345 700 1500 Pa, flow: 180 g/s, at: [20 degC, 101.3 kPa]}}";
        let case = tract(sheet);
        let filters = AgingFilter::of(&case).expect("a filter");
        assert!((filters[0].capacity - 0.2).abs() < 1e-12);
        let (clean, known) = age(&case, crate::case::REST, &filters, 0.0, None).expect("a state");
        for (share, drop) in [(0.5, 700.0), (1.0, 1500.0), (0.75, 1100.0)] {
            let (aged, _) = age(&case, crate::case::REST, &filters, share, Some(&known)).expect("a state");
            let rise = (aged.filters[0][0] - clean.filters[0][0]) / (drop - 345.0);
            // The tract's air is a little thinner than the bench's, and thinner still behind a filter that is full.
            assert!((rise - 1.0).abs() < 0.02, "{share}: {rise}");
            assert!((aged.filters[0][1] - 0.18).abs() < 1e-9);
        }
    }

    #[test]
    fn dust_that_passes_comes_out_at_the_whole_lifes_efficiency() {
        let case = tract(
            "{mass: 0 g, capacity: 200 g, efficiency: {initial: 98 %, full_life: 99.2 %, dust: coarse}, service_limit: 2.5 kPa}",
        );
        let [filter] = &AgingFilter::of(&case).expect("a filter")[..] else { panic!("one filter") };
        let passed = |mass: f64| filter.passed(mass).expect("an efficiency");
        assert!((passed(0.2) - 0.2 * 0.008).abs() < 1e-12, "{}", passed(0.2));
        assert!((passed(1e-6) / 1e-6 - 0.02).abs() < 1e-6);
        assert!(passed(0.15) < passed(0.2) && filter.service_limit == Some(2500.0));
        assert_eq!(filter.dust.as_deref(), Some("coarse"));
    }

    #[test]
    fn the_share_that_passes_falls_from_the_first_to_the_mean_and_never_to_nothing() {
        let filter = |efficiency: [f64; 2]| AgingFilter {
            part: "filter".to_owned(),
            capacity: 0.25,
            efficiency: Some(efficiency),
            dust: None,
            service_limit: None,
        };
        for (initial, full_life) in [
            (0.984, 0.993),
            (0.98, 0.999),
            (0.9, 0.99),
            (0.99, 0.990_000_1),
            (0.99, 0.990_000_000_001),
            (0.99, 0.99),
            (0.99, 0.985),
        ] {
            let filter = filter([initial, full_life]);
            let keeps = |life: f64| filter.keeps(life * filter.capacity).expect("an efficiency");
            let passed = |life: f64| filter.passed(life * filter.capacity).expect("an efficiency");
            assert!(keeps(0.0).to_bits() == initial.to_bits(), "{initial}: {}", keeps(0.0));
            let mean = 1.0 - passed(1.0) / filter.capacity;
            assert!((mean - full_life).abs() < 1e-12, "{initial} {full_life}: {mean}");
            // What has passed is the integral of what passes, by Simpson's rule.
            let steps = 1000;
            let integral = |step: usize| {
                let at = |part: f64| 1.0 - keeps((step as f64 + part) / f64::from(steps));
                (at(0.0) + 4.0 * at(0.5) + at(1.0)) / (6.0 * f64::from(steps))
            };
            let sum: f64 = (0..steps as usize).map(integral).sum();
            assert!((sum - passed(1.0) / filter.capacity).abs() < 1e-10, "{initial} {full_life}: {sum}");
            let kept: Vec<f64> = (0..=20).map(|step| keeps(f64::from(step) / 20.0)).collect();
            assert!(kept.iter().all(|kept| *kept < 1.0), "{kept:?}");
            let sign = if full_life < initial { -1.0 } else { 1.0 };
            assert!(kept.windows(2).all(|pair| sign * (pair[1] - pair[0]) >= 0.0), "{kept:?}");
        }
        // A mean of 1 - 1/e at a rate of one.
        assert!((rate_of_fall(1.0 - libm::exp(-1.0)) - 1.0).abs() < 1e-14);
        assert_eq!(filter([0.99, 1.0]).passed(0.1), Some(0.0));
    }

    #[test]
    fn what_is_no_life_is_refused() {
        let error = AgingFilter::of(&tract("{load: 0.5}")).expect_err("no mass").to_string();
        assert!(error.contains("no filter with a mass of dust"), "{error}");
        let wrong = |dust: &str| {
            let text = format!(
                "parts:\n  f: {{kind: filter, media_area: 0.2 m2, dust: {dust}, curve: {{flow: 60 120 180 g/s, drop: 90 205 345 Pa, at: [20 degC, 101.3 kPa]}}}}\n  \
                 t: {{kind: draw, flow: 100 g/s}}\nflow: [[outside, f, t]]\n"
            );
            let case = Case::from_text("f.yaml", &text).and_then(|case| case.at_point(crate::case::REST).map(|_| ()));
            case.expect_err("a mistake").to_string()
        };
        assert!(wrong("{mass: 10 g}").contains("without `capacity` or `loading`"));
        assert!(
            wrong("{mass: 300 g, loading: {mass: 0 200 g, drop: 345 700 Pa, flow: 180 g/s, at: [20 degC, 101.3 kPa]}}")
                .contains("0 to 200 g")
        );
        assert!(
            wrong("{mass: 3 g, loading: {mass: 0 200 g, drop: 700 345 Pa, flow: 180 g/s, at: [20 degC, 101.3 kPa]}}")
                .contains("both rising")
        );
        assert!(
            wrong("{load: 1, loading: {mass: 0 200 g, drop: 345 700 Pa, flow: 180 g/s, at: [20 degC, 101.3 kPa]}}")
                .contains("`load` beside `loading`")
        );
    }
}
