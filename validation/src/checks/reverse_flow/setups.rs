//! A vessel behind each kind of part.

use super::{GAS, ideal};
use crate::case_text::{CaseText, smooth_duct};
use crate::oracle::blowdown::Blowdown;
use crate::oracle::orifice::Opening;
use std::f64::consts::FRAC_PI_4;

/// Pressure outside [Pa].
pub(super) const OUTSIDE: f64 = 1e5;
/// Temperature everywhere [K].
pub(super) const TEMPERATURE: f64 = 300.0;
/// Volume of the vessel [m^3].
pub(super) const VESSEL: f64 = 0.02;
/// When the marches end [s].
pub(super) const END: f64 = 0.02;
/// What the inflow feeds [kg/s].
pub(super) const FED: f64 = 0.03;
/// Bore of ducts [m].
const BORE: f64 = 0.04;
/// Area of ducts and openings [m^2].
const AREA: f64 = FRAC_PI_4 * BORE * BORE;

/// A kind of part with a vessel behind it.
pub(super) struct Setup {
    pub(super) kind: &'static str,
    pub(super) case: String,
    pub(super) expected: Expected,
    /// Mass in the vessel at the start [kg].
    pub(super) vessel_mass: f64,
}

/// What is known of the flow.
pub(super) enum Expected {
    /// It is that of an ideal nozzle.
    Ideal(Blowdown),
    /// It lies between two shares of that, and why.
    Between(Blowdown, [f64; 2], &'static str),
    /// The vessel is filled from outside, by a flow between two shares of that of an ideal nozzle.
    Filled(Opening, [f64; 2], &'static str),
    /// It is given.
    Fed,
    /// There is none through the end.
    Shut,
}

/// One for every kind of part, with a pressure ratio between vessel and outside.
pub(super) fn setups(ratio: f64) -> Vec<Setup> {
    let ideal_flow = || Expected::Ideal(ideal(ratio, AREA));
    let duct = || {
        let why = "edges, exits and wave resistance let out less than an ideal nozzle as wide as the duct";
        Expected::Between(ideal(ratio, AREA), [0.7, 1.0], why)
    };
    let blown = |kind, case: CaseText, expected| setup(kind, ratio, case, expected);
    let plain = || CaseText::new(OUTSIDE, TEMPERATURE);
    let pipe = || smooth_duct(0.2, BORE);
    let opening = format!("area: {AREA} m2");
    let room = |case: CaseText| case.part("room", "kind: plenum, volume: 1000 m3");
    let side = |case: CaseText| case.part("side", format!("kind: mouth, {opening}, lip_radius: 10 mm"));
    let plate = format!("kind: orifice_plate, {opening}, discharge_coefficient: 1");
    let seam = format!("kind: gap, width: 2 mm, length: {} m, discharge_coefficient: 1", AREA / 2e-3);
    let mesh = format!("kind: screen, pattern: wire_mesh, open_area: 60 %, {opening}");
    let element = "kind: filter, media_area: 20 cm2, curve: {flow: 0.6 1.2 1.8 g/s, drop: 90 205 345 Pa, at: [20 degC, 101.3 kPa]}";
    let legs = "kind: wye, legs: {trunk: 0 deg, left: 40 deg, right: -40 deg}";
    vec![
        blown("duct", side(plain()).part("pipe", pipe()).line(&["side", "pipe", "vessel"]), duct()),
        blown("mouth", side(plain()).line(&["side", "vessel"]), ideal_flow()),
        blown(
            "mouth of a bay",
            plain()
                .part("bay", "kind: bay, volume: 1000 m3")
                .part("hole", format!("kind: mouth, from: bay, {opening}, lip_radius: 10 mm"))
                .line(&["hole", "vessel"]),
            ideal_flow(),
        ),
        blown(
            "scoop",
            plain()
                .part("nose", format!("kind: scoop, {opening}, recovery: 0.8, lip_radius: 3 mm"))
                .line(&["nose", "vessel"]),
            ideal_flow(),
        ),
        blown("plenum", room(plain()).part("door", &plate).line(&["room", "door", "vessel"]), ideal_flow()),
        blown(
            "bay",
            plain()
                .part("bay", format!("kind: bay, temperature: {TEMPERATURE} K"))
                .part("seam", &seam)
                .line(&["bay", "seam", "vessel"]),
            ideal_flow(),
        ),
        blown(
            "filter",
            room(plain()).part("element", element).line(&["room", "element", "vessel"]),
            Expected::Between(ideal(ratio, 2e-3), [0.05, 0.15], "a medium that takes 345 Pa at 1.8 g/s throttles"),
        ),
        blown(
            "screen",
            room(plain()).part("mesh", &mesh).line(&["room", "mesh", "vessel"]),
            Expected::Between(
                ideal(ratio, AREA),
                [0.5, 0.75],
                "wires cost 0.96 heads besides the one of the exit: 0.71 of an ideal opening in slow flow, less in fast",
            ),
        ),
        blown("orifice_plate", plain().part("plate", &plate).line(&["outside", "plate", "vessel"]), ideal_flow()),
        blown("gap", plain().part("seam", &seam).line(&["outside", "seam", "vessel"]), ideal_flow()),
        blown(
            "vent",
            plain()
                .part("hole", format!("kind: vent, {opening}, discharge_coefficient: 1"))
                .line(&["outside", "hole", "vessel"]),
            ideal_flow(),
        ),
        blown(
            "elbow",
            side(plain())
                .part("pipe", pipe())
                .part("corner", "kind: elbow, angle: 90 deg, radius: 40 mm")
                .part("rest", pipe())
                .line(&["side", "pipe", "corner", "rest", "vessel"]),
            duct(),
        ),
        blown(
            "step",
            plain()
                .part("wide", format!("kind: mouth, area: {} m2, lip_radius: 10 mm", 4.0 * AREA))
                .part("pipe", smooth_duct(0.2, 2.0 * BORE))
                .part("narrowing", "kind: step")
                .part("rest", pipe())
                .line(&["wide", "pipe", "narrowing", "rest", "vessel"]),
            duct(),
        ),
        blown(
            "wye",
            side(plain())
                .part("other", format!("kind: mouth, {opening}, lip_radius: 10 mm"))
                .part("y", legs)
                .part("left", pipe())
                .part("right", pipe())
                .part("trunk", pipe())
                .line(&["side", "left", "y.left"])
                .line(&["other", "right", "y.right"])
                .line(&["y.trunk", "trunk", "vessel"]),
            duct(),
        ),
        emptied(ratio, pipe()),
        blown(
            "inflow",
            plain()
                .part("breather", format!("kind: inflow, flow: {FED} kg/s, temperature: 350 K"))
                .line(&["breather", "vessel"]),
            Expected::Fed,
        ),
        blown(
            "radiator",
            plain()
                .part("cooler", format!("kind: radiator, fan_flow: {FED} kg/s, core: 350 K, effectiveness: 1"))
                .line(&["cooler", "vessel"]),
            Expected::Fed,
        ),
        blown(
            "wall",
            plain().part("cap", "kind: wall").part("pipe", pipe()).line(&["cap", "pipe", "vessel"]),
            Expected::Shut,
        ),
    ]
}

/// A draw behind a vessel of less than the outside's pressure, from which air comes back.
fn emptied(ratio: f64, pipe: String) -> Setup {
    let case = CaseText::new(OUTSIDE, TEMPERATURE)
        .part("pipe", pipe)
        .part("bench", "kind: draw, depression: 0 Pa")
        .line(&["vessel", "pipe", "bench"]);
    let opening = Opening { gas: GAS, effective_area: AREA, total_pressure: OUTSIDE, total_temperature: TEMPERATURE };
    let why = "the vessel's pressure rises and the exit into it costs a head";
    setup("draw", 1.0 / ratio, case, Expected::Filled(opening, [0.7, 1.0], why))
}

fn setup(kind: &'static str, ratio: f64, case: CaseText, expected: Expected) -> Setup {
    let pressure = ratio * OUTSIDE;
    // The speed of the car matters to the scoop alone.
    let case = if kind == "scoop" { case.speed(50.0) } else { case };
    let case = case
        .part("vessel", format!("kind: plenum, volume: {VESSEL} m3"))
        .initial_volume("vessel", pressure, TEMPERATURE)
        .run(format!("march: acoustic, until: {END} s, cell: 10 mm"));
    let vessel_mass = pressure * VESSEL / (GAS.gas_constant * TEMPERATURE);
    Setup { kind, case: case.text(), expected, vessel_mass }
}
