//! Violent starts: every kind of joint under strong pressure differences, reversal and choking.

use super::{Acoustic, March, Settings, Unobserved, Until};
use crate::case::Case;
use crate::error::Error;
use proptest::prelude::*;

/// A tract with every kind of part in it.
fn tract(pressures: &[f64; 6], temperatures: &[f64; 3], box_litres: f64, pulse: f64) -> String {
    let [a, b, c, d, e, f] = pressures;
    let [hot, warm, cold] = temperatures;
    format!(
        "
outside: {{pressure: 1 bar, temperature: 20 degC}}
points: {{road: {{speed: 60 m/s}}}}
parts:
  nose: {{kind: scoop, area: 60 cm2, recovery: 0.8, lip_radius: 3 mm, pressure_coefficient: -0.2}}
  snout: {{kind: duct, length: 200 mm, sections: [{{at: 0 mm, diameter: 85 mm}}, {{at: 200 mm, diameter: 60 mm}}], bends: [{{at: 50 mm, angle: 60 deg, radius: 80 mm}}]}}
  bay: {{kind: bay, temperature: 70 degC, pressure_coefficient: 0.1}}
  seam: {{kind: gap, width: 1 mm, length: 300 mm}}
  front: {{kind: plenum, volume: {box_litres} L}}
  door: {{kind: orifice_plate, diameter: 50 mm}}
  rear: {{kind: plenum, volume: 0.05 L}}
  element: {{kind: filter, media_area: 0.2 m2, curve: {{flow: 60 120 180 g/s, drop: 90 205 345 Pa, at: [20 degC, 101.3 kPa]}}}}
  trunk: {{kind: duct, length: 150 mm, diameter: 70 mm, inlet: {{shape: rounded, radius: 10 mm}}}}
  y: {{kind: wye, legs: {{trunk: 0 deg, left: 40 deg, right: -40 deg}}}}
  left: {{kind: duct, length: 120 mm, diameter: 50 mm}}
  corner: {{kind: elbow, angle: 90 deg, radius: 60 mm}}
  left_end: {{kind: duct, length: 100 mm, diameter: 50 mm}}
  right: {{kind: duct, length: 140 mm, diameter: 50 mm}}
  mesh: {{kind: screen, pattern: wire_mesh, open_area: 60 %}}
  right_end: {{kind: duct, length: 90 mm, diameter: 40 mm, wall: {{temperature: 90 degC}}}}
  left_turbo: {{kind: draw, flow: 80 g/s, pulse: {{amplitude: {pulse}, frequency: 200 Hz}}}}
  right_turbo: {{kind: draw, corrected_flow: 120 g/s}}
  breather: {{kind: inflow, flow: 4 g/s, temperature: 80 degC}}
  bench: {{kind: draw, depression: 20 kPa}}
  hose: {{kind: duct, length: 80 mm, diameter: 25 mm}}
flow:
  - [nose, snout, front]
  - [bay, seam, front]
  - [front, door, rear]
  - [rear, element, trunk, y.trunk]
  - [y.left, left, corner, left_end, left_turbo]
  - [y.right, right, mesh, right_end, right_turbo]
  - [breather, rear]
  - [front, hose, bench]
initial:
  - {{part: snout, pressure: {a} bar, temperature: {hot} K}}
  - {{part: front, pressure: {b} bar, temperature: {warm} K}}
  - {{part: rear, pressure: {c} bar}}
  - {{part: trunk, pressure: {d} bar, temperature: {cold} K}}
  - {{part: left, pressure: {e} bar}}
  - {{part: right, pressure: {f} bar, temperature: {hot} K}}
run: {{until: 20 ms, cell: 10 mm}}
"
    )
}

fn march(text: &str) -> Result<(Vec<f64>, f64, u64), Error> {
    let case = Case::from_text("storm", text)?;
    let built = case.build("road")?;
    let settings = Settings {
        march: March::Acoustic,
        from_steady: false,
        until: Until::Time(0.02),
        record_every: 0.02,
        courant: 0.8,
    };
    let mut march = Acoustic::new(&built.network, built.initial.clone(), settings);
    let start = built.network.stored(&march.y);
    march.run(&mut Unobserved)?;
    let end = built.network.stored(&march.y);
    let crossed: f64 = (0..built.network.joints.len())
        .map(|joint| {
            let mass = march.integrals.values[march.integrals.places.joints[joint]];
            match built.network.joints[joint].parts.join("-").as_str() {
                "nose-snout" | "bay-front" | "breather-rear" => mass,
                "left_end-left_turbo" | "right_end-right_turbo" | "hose-bench" => -mass,
                _ => 0.0,
            }
        })
        .sum();
    let shares: f64 = end[2..].iter().sum();
    let scale = start[0].max(end[0]);
    let error = ((end[0] - start[0] - crossed) / scale).abs().max((shares / end[0] - 1.0).abs());
    Ok((end, error, march.counters.retakes))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn no_start_blows_up_and_mass_is_kept(
        pressures in prop::array::uniform6(0.25..4.0_f64),
        temperatures in prop::array::uniform3(240.0..700.0_f64),
        box_litres in 0.05..5.0_f64,
        pulse in 0.0..3.0_f64,
    ) {
        let text = tract(&pressures, &temperatures, box_litres, pulse);
        match march(&text) {
            Ok((end, error, _)) => {
                prop_assert!(error < 1e-12, "mass error {error:e}");
                prop_assert!(end.iter().all(|value| value.is_finite() && *value > -1e-12));
            }
            Err(error) => prop_assert!(false, "{error}"),
        }
    }
}
