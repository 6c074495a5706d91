//! Samples against exact results.

use super::*;

/// A draw whose flow spreads, behind a box that loses nothing.
fn draw(flow: &str) -> Case {
    let text = format!(
        "parts:\n  mesh: {{kind: screen, pattern: wire_mesh, open_area: 60 %, area: 200 cm2}}\n  chamber: {{kind: plenum, volume: 20 L}}\n  \
         turbo: {{kind: draw, flow: {flow}, bore: 160 mm}}\nflow: [[outside, mesh, chamber], [chamber, turbo]]\nrun: {{until: steady}}\n"
    );
    Case::from_text("draw.yaml", &text).expect("a case")
}

fn sampled(cases: Vec<Case>, count: usize, seed: u64) -> Vec<Vec<Figures>> {
    let samples = Samples::new(cases, REST, seed).expect("steady states");
    (0..count).map(|number| samples.sample(number).expect("a sample").figures).collect()
}

const REST: &str = crate::case::REST;

fn flow(samples: &[Vec<Figures>]) -> Difference {
    let of_flow = |found: &Difference| found.quantity == Quantity::MassFlow && found.of == Of::Whole;
    differences(samples, 1).into_iter().find(of_flow).expect("a flow")
}

#[test]
fn a_linear_case_spreads_as_the_normal_distribution_does() {
    // The first flow is certain: the difference is normal, of mean 5 g/s and standard deviation 2 g/s.
    let samples = sampled(vec![draw("100 g/s"), draw("105 +- 2 g/s")], 2_000, 3);
    let found = flow(&samples);
    // Standard error of a quantile: sqrt(q (1 - q) / n) over the density there; the 90 % quantile stands at 1.2816 (Abramowitz and Stegun, table
    // 26.1), where the density is 0.1755. Four of them.
    let (middle, tail) = (4.0 * 0.5 / 0.3989, 4.0 * 0.3 / 0.1755);
    let root = 2_000.0_f64.sqrt();
    assert!((found.median - 5e-3).abs() < 2e-3 * middle / root, "{found:?}");
    for (quantile, exact) in found.range.iter().zip([5e-3 - 1.2816 * 2e-3, 5e-3 + 1.2816 * 2e-3]) {
        assert!((quantile - exact).abs() < 2e-3 * tail / root, "{found:?}");
    }
    assert!(!found.includes_zero() && (found.relative() / 0.05 - 1.0).abs() < 0.01);
}

#[test]
fn what_is_equally_wrong_in_both_falls_out() {
    // The same path in both: one draw moves both flows alike, and the difference is certain.
    let samples = sampled(vec![draw("100 +- 10 g/s uniform"), draw("105 +- 10 g/s uniform")], 200, 5);
    let found = flow(&samples);
    assert!((found.range[1] - found.range[0]).abs() < 1e-12 && (found.median - 5e-3).abs() < 1e-12, "{found:?}");
    let flows: Vec<f64> =
        samples.iter().map(|sample| sample[0].value(Quantity::MassFlow, &Of::Whole).unwrap()).collect();
    let (least, most) =
        flows.iter().fold((1.0_f64, 0.0_f64), |(least, most), flow| (least.min(*flow), most.max(*flow)));
    assert!(least > 0.09 && least < 0.091 && most < 0.11 && most > 0.109, "{least} {most}");
}

#[test]
fn identical_layouts_differ_by_nothing_in_every_sample() {
    let samples = sampled(vec![draw("100 +- 10 g/s"), draw("100 +- 10 g/s")], 50, 2);
    for sample in &samples {
        assert_eq!(sample[0], sample[1]);
    }
    for found in differences(&samples, 1) {
        assert!(found.median == 0.0 && found.range.iter().all(|end| *end == 0.0) && found.includes_zero(), "{found:?}");
    }
    let recovery = |k: usize| samples[k][0].value(Quantity::Recovery, &Of::Whole).expect("a recovery");
    assert!((recovery(0) - recovery(1)).abs() > 1e-9, "the samples themselves differ");
}

#[test]
fn the_law_of_a_handbook_loss_spreads_as_published() {
    let samples = sampled(vec![draw("100 g/s")], 400, 4);
    let nominal = Samples::new(vec![draw("100 g/s")], REST, 4).expect("a steady state");
    let lost = |figures: &Figures| 1.0 - figures.value(Quantity::Recovery, &Of::Whole).expect("a recovery");
    // Mesh and the end of its jet: 1.3 (1 - f) + (1/f - 1)^2 heads of the whole area spread by 15 %, 1/f^2 do not (Idelchik, diagram 8-6).
    let (mesh, jet) = (1.3 * 0.4 + (1.0 / 0.6 - 1.0_f64).powi(2), 1.0 / 0.36);
    let expected = 0.15 * mesh / (mesh + jet);
    let shares: Vec<f64> = samples.iter().map(|sample| lost(&sample[0]) / lost(nominal.nominal()[0]) - 1.0).collect();
    let deviation = (shares.iter().map(|share| share * share).sum::<f64>() / 400.0).sqrt();
    // Four standard errors of a standard deviation from 400 values.
    assert!((deviation / expected - 1.0).abs() < 4.0 / 800.0_f64.sqrt(), "{deviation} for {expected}");
}

#[test]
fn a_sample_does_not_depend_on_those_before_it() {
    let samples = Samples::new(vec![draw("100 +- 10 g/s")], REST, 9).expect("a steady state");
    let later = samples.sample(7).expect("a sample");
    let _ = samples.sample(3);
    assert_eq!(later, samples.sample(7).expect("a sample"));
    assert_eq!(samples.paths(), ["parts.turbo.flow"]);
}

#[test]
fn quantiles_lie_between_the_values() {
    let values = [1.0, 2.0, 4.0, 8.0, 16.0];
    for (share, value) in [(0.0, 1.0), (0.1, 1.4), (0.5, 4.0), (0.9, 12.8), (1.0, 16.0)] {
        assert!((quantile(&values, share) - value).abs() < 1e-12, "{share}");
    }
    assert!((quantile(&[3.0], 0.9) - 3.0).abs() < 1e-15);
}

#[test]
fn power_ranges_hold_the_middle_eight_tenths_at_each_crank_speed() {
    let sample = |shift: f64| Sample {
        figures: Vec::new(),
        // The second layout has rows elsewhere, and ten more.
        power: vec![
            vec![[100.0, 10.0 + shift], [200.0, 30.0 + shift], [300.0, 50.0 + shift]],
            vec![[100.0, 20.0 + shift], [150.0, 30.0 + shift], [250.0, 50.0 + shift], [310.0, 62.0 + shift]],
        ],
    };
    let samples: Vec<Sample> = (0..=10).map(|shift| sample(f64::from(shift))).collect();
    let first = power_range(&samples, 0);
    assert_eq!(first.power, [(100.0, [11.0, 19.0]), (200.0, [31.0, 39.0]), (300.0, [51.0, 59.0])]);
    assert!(first.difference.iter().all(|(_, ends)| *ends == [0.0, 0.0]), "{first:?}");
    let second = power_range(&samples, 1);
    assert_eq!(second.power.len(), 4);
    // Beyond the first layout's rows there is no difference.
    assert_eq!(second.difference.iter().map(|row| row.0).collect::<Vec<_>>(), [100.0, 150.0, 250.0]);
    assert!(second.difference.iter().all(|(_, [low, high])| (low - 10.0).abs() < 1e-12 && (high - 10.0).abs() < 1e-12));
    assert_eq!(power_range(&[], 0), PowerRange::default());
}
