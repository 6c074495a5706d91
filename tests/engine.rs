use crate::resume::values_of;
use crate::support::workspace;
use std::cell::Cell;
use std::path::Path;
use tractwright::case::Case;
use tractwright::march;
use tractwright::run::{
    EngineFigures, Options, Reading, Report, Watcher, response_time, result_path, roll_on_time, run,
};
use tractwright::study::levers::{Levers, Outcome};
use tractwright::study::{Aim, Figures, Of, Quantity, figures_of};

const CASE: &str = "cases/power/twin_sealed.yaml";
/// Counts of a slow march.
const ATTRIBUTES: [&str; 3] = ["steps", "refused_steps", "end_time"];

/// Someone who stops a run after so many steps.
struct Impatient {
    left: Cell<u64>,
}

impl Impatient {
    fn after(steps: u64) -> Self {
        Self { left: Cell::new(steps) }
    }
}

impl Watcher for Impatient {
    fn progress(&mut self, _time: f64, _end: f64, _steps: u64) {}

    fn stop(&self) -> bool {
        self.left.set(self.left.get() - 1);
        self.left.get() == 0
    }
}

fn ran(case: &Case, point: &str, path: &Path, steps: u64) -> Report {
    let options = Options { resume: true, ..Options::default() };
    run(case, point, path, options, &mut Impatient::after(steps)).expect("a run")
}

#[test]
fn an_interrupted_roll_on_pull_and_throttle_step_end_with_the_values_of_one_that_was_not() {
    let case = Case::from_path(&workspace().join(CASE)).expect("a case");
    for (point, legs) in [("roll_stock", [29, 41, 7, 53]), ("dyno_stock", [3, 90, 40, 5]), ("response", [1, 2, 30, 30])]
    {
        let folder = tempfile::tempdir().expect("a folder");
        let [whole, parts] = ["whole", "parts"].map(|name| folder.path().join(name).with_extension("h5"));
        let undisturbed = ran(&case, point, &whole, u64::MAX);
        assert_eq!(undisturbed.outcome, march::Outcome::Finished, "{point}");
        let mut before = 0.0;
        for steps in legs {
            let leg = ran(&case, point, &parts, steps);
            assert_eq!(leg.outcome, march::Outcome::Interrupted, "{point}, {steps} steps from {before} s");
            assert!(leg.time > before && leg.resumed_from.to_bits() == f64::to_bits(before), "{point}: {leg:?}");
            before = leg.time;
        }
        let last = ran(&case, point, &parts, u64::MAX);
        assert!(
            last.resumed_from.to_bits() == before.to_bits() && last.steps == undisturbed.steps,
            "{point}: {last:?}"
        );
        let [parts, whole] = [parts, whole].map(|path| values_of(&path, &ATTRIBUTES));
        assert!(parts == whole && whole.len() > 40, "{point}, {} series", whole.len());
    }
}

/// What the march must not move, with its size.
fn figures(engine: &EngineFigures) -> Vec<f64> {
    let turbos = engine.turbos.iter().flat_map(|turbo| {
        [turbo.air, turbo.charge_pressure, turbo.exhaust_pressure, turbo.shaft_speed, turbo.charge_temperature]
    });
    [engine.crank_speed, engine.torque, engine.fuel_flow].into_iter().chain(turbos).collect()
}

#[test]
fn a_march_with_waves_stays_in_the_steady_state_of_an_engine() {
    let text = std::fs::read_to_string(workspace().join(CASE)).expect("a case");
    let march = "run: {march: acoustic, start: steady, until: 60 ms, record_every: 1 ms, cell: 20 mm}";
    assert!(text.contains("run: {until: steady}"));
    let case = Case::from_text("engine.yaml", &text.replace("run: {until: steady}", march)).expect("a case");
    let folder = tempfile::tempdir().expect("a folder");
    let path = result_path(&case, "road_stock", folder.path()).expect("a path");
    let report = ran(&case, "road_stock", &path, u64::MAX);
    assert!(report.notes.is_empty() && report.steps > 100, "{report:?}");
    let rows = Reading::open(&path).expect("a result").engine_figures().expect("an engine");
    assert!(rows.len() > 50 && rows[0].torque > 400.0, "{} rows", rows.len());
    let first = figures(&rows[0]);
    for row in &rows {
        for (now, then) in figures(row).iter().zip(&first) {
            assert!((now / then - 1.0).abs() < 1e-6, "{} s: {now} after {then}", row.time);
        }
    }
}

fn whole(figures: &Figures, quantity: Quantity) -> f64 {
    figures.value(quantity, &Of::Whole).expect("a figure")
}

#[test]
fn figures_in_memory_are_those_of_a_result() {
    let case = Case::from_path(&workspace().join(CASE)).expect("a case");
    let folder = tempfile::tempdir().expect("a folder");
    let rows = |point: &str| {
        let path = folder.path().join(point).with_extension("h5");
        ran(&case, point, &path, u64::MAX);
        Reading::open(&path).expect("a result").engine_figures().expect("an engine")
    };
    let figures = |point: &str| figures_of(&case, point).expect("figures");

    let found = whole(&figures("roll_windy"), Quantity::RollOnTime);
    let known = roll_on_time(&rows("roll_windy"), 200.0 / 3.6).expect("a time");
    assert!((found / known - 1.0).abs() < 1e-12, "{found} {known}");
    let found = whole(&figures("response"), Quantity::ResponseTime);
    let known = response_time(&rows("response")).expect("a time");
    assert!((found / known - 1.0).abs() < 1e-12, "{found} {known}");

    // The largest lies between rows, and not far above them.
    let (found, known) = (figures("dyno_stock"), rows("dyno_stock"));
    for (quantity, of) in
        [(Quantity::Power, (|row| row.power) as fn(&EngineFigures) -> f64), (Quantity::Torque, |row| row.torque)]
    {
        let most = known.iter().map(of).fold(0.0, f64::max);
        let share = whole(&found, quantity) / most - 1.0;
        assert!((0.0..1e-4).contains(&share), "{quantity:?}: {share}");
    }
    // What stands there is of that instant.
    let best = known.iter().max_by(|a, b| a.power.total_cmp(&b.power)).expect("rows");
    let air: f64 = best.turbos.iter().map(|turbo| turbo.air).sum();
    assert!((whole(&found, Quantity::MassFlow) / air - 1.0).abs() < 1e-3);
}

/// The case with an engine bay that breathes by the road and in which nothing else stands, and a wider left tube.
fn with_bay() -> Case {
    let text = std::fs::read_to_string(workspace().join(CASE)).expect("a case");
    let parts = "  engine_bay: {kind: bay, volume: 380 L, flow_area: 0.45 m2}\n  \
                 core: {kind: radiator, fan_flow: 0.2 kg/s, flow_per_speed: 20 g/m, core: 92 degC}\n  \
                 louvre: {kind: vent, area: 400 cm2, pressure_coefficient: -0.3}\n  left_filter:";
    let lines = "flow:\n  - [core, engine_bay]\n  - [engine_bay, louvre, outside]\n";
    let text = text.replacen("  left_filter:", parts, 1).replacen("flow:\n", lines, 1);
    Case::from_text("bay.yaml", &text).expect("a case")
}

#[test]
fn radiators_vents_and_ram_follow_the_road_speed_of_a_roll_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("roll.h5");
    ran(&with_bay(), "roll_stock", &path, u64::MAX);
    let reading = Reading::open(&path).expect("a result");
    let rows = reading.engine_figures().expect("an engine");
    let series = |group: &str, name: &str| reading.file.series(group, name).expect("a series");
    let (flow, pressure) = (series("core", "mass_flow"), series("engine_bay", "pressure"));
    let temperature = series("engine_bay", "temperature");
    // 99.6 kPa, 24 degC; the water in the air makes it half a per cent lighter.
    let density = 99_600.0 / (287.05 * 297.15) * 0.995;
    assert!(rows.len() > 60 && rows[0].road_speed < 28.0 && rows[rows.len() - 1].road_speed > 55.0);
    for (row, engine) in rows.iter().enumerate() {
        let speed = engine.road_speed;
        assert!((flow[row] - 0.2 - 0.02 * speed).abs() < 1e-9, "{speed} m/s: {} kg/s", flow[row]);
        // Behind the opening stands the suction of the road, -0.3 of the dynamic pressure; before it Torricelli's, m^2 / (2 rho (Cd A)^2). The air
        // in the opening takes up to some pascals to set in motion.
        let head = 0.5 * density * speed * speed;
        let inner = density * 297.15 / temperature[row];
        let loss = (flow[row] / (0.61 * 0.04)).powi(2) / (2.0 * inner);
        let expected = loss - 0.3 * head;
        let found = pressure[row] - 99_600.0;
        assert!((found - expected).abs() < 0.03 * loss, "{speed} m/s: {found} Pa for {expected} Pa");
    }
    let causes = reading.file.names("left_turbo", "cause").expect("causes");
    let warmth = reading.file.field("left_turbo", "warmth").expect("warmth");
    let last = warmth.rows().into_iter().next_back().expect("rows");
    let by = |cause: &str| last[causes.iter().position(|known| known == cause).expect("a cause")];
    // V^2 / (2 cp), of which the film on the walls takes a part back, as it is the speed of the air in the tract that it feels.
    let speed = rows[rows.len() - 1].road_speed;
    let ram = 0.5 * speed * speed / 1006.0;
    assert!((0.8..1.0).contains(&(by("ram") / ram)), "{} of {ram} K", by("ram"));
    for small in ["pressure work", "numerical"] {
        assert!(by(small).abs() < 0.1, "{} K by {small}", by(small));
    }
}

#[test]
fn a_fan_of_its_own_temperature_cools_what_it_reaches() {
    let text = std::fs::read_to_string(workspace().join(CASE)).expect("a case");
    let power = |fan: &str, room: &str, reached: &str| {
        let point = format!("dyno_stock: {{outside: {{temperature: {room}}}, ");
        let text = text.replacen("dyno_stock: {", &point, 1).replacen(
            "fan: {speed: 12 m/s, reaches: [nose]}",
            &format!("fan: {{speed: 12 m/s, {fan}reaches: [{reached}]}}"),
            1,
        );
        let figures = figures_of(&Case::from_text("fan.yaml", &text).expect("a case"), "dyno_stock").expect("figures");
        (whole(&figures, Quantity::Power), whole(&figures, Quantity::InletTemperature))
    };
    let both = "nose, rear";
    let (cool, hot) = (power("", "24 degC", both), power("", "40 degC", both));
    let (blown, same) =
        (power("temperature: 24 degC, ", "40 degC", both), power("temperature: 40 degC, ", "40 degC", both));
    assert!(same.0.to_bits() == hot.0.to_bits() && same.1.to_bits() == hot.1.to_bits());
    // Where the fan reaches both mouths, what is left of the hot room is its moister air.
    assert!((blown.1 - cool.1).abs() < 0.2 && hot.1 > cool.1 + 10.0, "{blown:?} {cool:?} {hot:?}");
    assert!((blown.0 / cool.0 - 1.0).abs() < 0.01 && hot.0 < 0.95 * cool.0, "{blown:?} {cool:?} {hot:?}");
    // A mouth that it does not reach takes the room's.
    let one = power("temperature: 24 degC, ", "40 degC", "nose");
    assert!(one.1 > blown.1 + 1.0 && one.1 < hot.1 - 1.0, "{one:?} {blown:?} {hot:?}");
}

#[test]
fn an_air_meter_reads_by_the_area_in_which_it_sits() {
    let text = std::fs::read_to_string(workspace().join(CASE)).expect("a case");
    let folder = tempfile::tempdir().expect("a folder");
    let meters = |name: &str, text: &str| {
        let path = folder.path().join(name).with_extension("h5");
        ran(&Case::from_text("meter.yaml", text).expect("a case"), "road_stock", &path, u64::MAX);
        Reading::open(&path).expect("a result").summary().expect("a summary").meters
    };
    // Continuity: the same mass through (76 / 70)^2 of the area, and behind the cone from 102 to 70 mm that ends at 180 mm, halfway, where the area runs
    // linearly, through the mean of both.
    let mean = 0.5 * (102.0_f64.powi(2) + 70.0_f64.powi(2));
    for (name, from, to, ratio) in [
        ("as_calibrated", "", "", 1.0),
        ("wide", "{at: 180 mm, diameter: 70 mm}", "{at: 180 mm, diameter: 76 mm}", (70.0_f64 / 76.0).powi(2)),
        ("in_the_cone", "air_meter: {at: 400 mm", "air_meter: {at: 90 mm", 70.0_f64.powi(2) / mean),
    ] {
        let found = meters(name, &text.replace(from, to));
        assert_eq!(found.iter().map(|meter| meter.part.as_str()).collect::<Vec<_>>(), ["left_tube", "right_tube"]);
        for meter in found {
            assert!((meter.ratio / ratio - 1.0).abs() < 1e-9, "{name}: {meter:?}");
            assert!((meter.reading / (meter.mass_flow * ratio) - 1.0).abs() < 1e-9 && meter.mass_flow > 0.1);
        }
    }
    let wrong = text.replace("air_meter: {at: 400 mm", "air_meter: {at: 800 mm");
    let told = Case::from_text("meter.yaml", &wrong).expect_err("a meter outside").to_string();
    assert!(told.contains("left_tube.air_meter.at") && told.contains("inside the length"), "{told}");
}

#[test]
fn the_lever_of_a_roll_on_is_the_difference_of_two_and_agrees_with_the_equation_of_motion() {
    let path = workspace().join(CASE);
    let case = Case::from_path(&path).expect("a case");
    let mut levers = Levers::new(case.clone(), "roll_stock", Aim::RollOn, None).expect("levers");
    levers.keep_only(&["vehicle.mass".to_owned()]);
    let Outcome::Moves(mass) = levers.lever(0) else { panic!("the mass moves a roll-on") };
    let folder = tempfile::tempdir().expect("a folder");
    let rows = |name: &str, mass: &str| {
        let text = std::fs::read_to_string(&path).expect("a case").replace("mass: 1590 kg", &format!("mass: {mass}"));
        let path = folder.path().join(name).with_extension("h5");
        ran(&Case::from_text("mass.yaml", &text).expect("a case"), "roll_stock", &path, u64::MAX);
        Reading::open(&path).expect("a result").engine_figures().expect("an engine")
    };
    let to = 200.0 / 3.6;
    let [light, heavy] = [("light", "1580 kg"), ("heavy", "1600 kg")].map(|(name, mass)| rows(name, mass));
    let by_hand = (roll_on_time(&heavy, to).expect("a time") - roll_on_time(&light, to).expect("a time")) / 20.0;
    assert!((mass.derivative / by_hand - 1.0).abs() < 5e-3, "{} {by_hand}", mass.derivative);
    assert!(mass.disagreement().expect("a check") < 5e-3, "{mass:?}");
    // m' dv/dt = F - m g c: the heavier car needs longer for each step of speed, by (1 + (m' / F_net) g c) / m' of its time, with m' the mass that
    // turning parts raise. That the charge builds up over a longer time is not in it.
    let mid = rows("mid", "1590 kg");
    let driven = mid.windows(2).filter(|pair| pair[1].gear == pair[0].gear && pair[1].road_speed > pair[0].road_speed);
    let gears = [3.8, 2.4, 1.75, 1.35, 1.08, 0.88];
    let slopes = driven.map(|pair| {
        let ratio: f64 = gears[pair[0].gear - 1] * 3.5;
        let effective = 1590.0 + (5.0 + 0.25 * ratio * ratio) / (0.335 * 0.335);
        let (time, speed) = (pair[1].time - pair[0].time, pair[1].road_speed - pair[0].road_speed);
        time / effective * (1.0 + time / speed * 9.806_65 * 0.012)
    });
    let slope: f64 = slopes.sum();
    assert!((mass.derivative / slope - 1.0).abs() < 0.05, "{} {slope}", mass.derivative);
}
