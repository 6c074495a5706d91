//! Writes the case files of the checks, with which the solver is driven.

use std::fmt::Write;

/// A case file in the making.
#[derive(Debug, Clone)]
pub struct CaseText {
    outside: String,
    point: String,
    parts: String,
    flow: String,
    initial: String,
    run: String,
}

impl CaseText {
    /// A case in air of the given state, with the gas of the reference tables.
    #[must_use]
    pub fn new(pressure: f64, temperature: f64) -> Self {
        Self::with_gas(pressure, temperature, 1.4)
    }

    /// The same with another ratio of heat capacities.
    #[must_use]
    pub fn with_gas(pressure: f64, temperature: f64, gamma: f64) -> Self {
        let gas = format!("{{gamma: {gamma}, gas_constant: {GAS_CONSTANT} J/(kg K)}}");
        Self::in_outside(format!("pressure: {pressure} Pa, temperature: {temperature} K, gas: {gas}"))
    }

    /// The same in air that the keys of `outside` describe.
    #[must_use]
    pub fn in_outside(keys: impl AsRef<str>) -> Self {
        Self {
            outside: format!("{{{}}}", keys.as_ref()),
            point: String::new(),
            parts: String::new(),
            flow: String::new(),
            initial: String::new(),
            run: String::new(),
        }
    }

    /// Drives the car at a speed [m/s], its only operating point.
    #[must_use]
    pub fn speed(self, speed: f64) -> Self {
        self.point(format!("speed: {speed} m/s"))
    }

    /// Sets the keys of its only operating point.
    #[must_use]
    pub fn point(mut self, keys: impl Into<String>) -> Self {
        self.point = keys.into();
        self
    }

    /// Adds a part: its name and the keys behind it.
    #[must_use]
    pub fn part(mut self, name: &str, keys: impl AsRef<str>) -> Self {
        push_line(&mut self.parts, format_args!("  {name}: {{{}}}", keys.as_ref()));
        self
    }

    /// Adds a flow line.
    #[must_use]
    pub fn line(mut self, names: &[&str]) -> Self {
        push_line(&mut self.flow, format_args!("  - [{}]", names.join(", ")));
        self
    }

    /// Adds the state of a stretch of a duct at the start.
    #[must_use]
    pub fn initial(mut self, part: &str, stretch: Stretch, state: InitialState) -> Self {
        let Stretch { from, to } = stretch;
        let InitialState { pressure, temperature, velocity } = state;
        push_line(
            &mut self.initial,
            format_args!(
                "  - {{part: {part}, from: {from} m, to: {to} m, pressure: {pressure} Pa, temperature: {temperature} K, \
                 velocity: {velocity} m/s}}"
            ),
        );
        self
    }

    /// Adds the state of a volume at the start.
    #[must_use]
    pub fn initial_volume(mut self, part: &str, pressure: f64, temperature: f64) -> Self {
        push_line(
            &mut self.initial,
            format_args!("  - {{part: {part}, pressure: {pressure} Pa, temperature: {temperature} K}}"),
        );
        self
    }

    /// Says how to march: the keys of `run`.
    #[must_use]
    pub fn run(mut self, keys: impl Into<String>) -> Self {
        self.run = keys.into();
        self
    }

    /// The whole text.
    #[must_use]
    pub fn text(&self) -> String {
        let Self { outside, point, parts, flow, initial, run } = self;
        let points = if point.is_empty() { String::new() } else { format!("points: {{road: {{{point}}}}}\n") };
        let mut text = format!("outside: {outside}\n{points}parts:\n{parts}flow:\n{flow}");
        if !initial.is_empty() {
            let _ = write!(text, "initial:\n{initial}");
        }
        let _ = writeln!(text, "run: {{{run}}}");
        text
    }
}

/// Gas constant [J/(kg K)] of the tables of pipe and nozzle flow.
pub const GAS_CONSTANT: f64 = 287.05;

/// Relative ringing at which a flow counts as steady: below what is compared.
const SETTLED: f64 = 1e-9;

/// A stretch of a duct [m], from its first end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
}

/// A state at the start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InitialState {
    /// Pressure [Pa].
    pub pressure: f64,
    /// Temperature [K].
    pub temperature: f64,
    /// Velocity [m/s], positive from the first end to the last.
    pub velocity: f64,
}

impl InitialState {
    /// The same state seen from the other end of the duct.
    #[must_use]
    pub fn turned(self) -> Self {
        Self { velocity: -self.velocity, ..self }
    }
}

/// Keys of a straight round duct without friction.
#[must_use]
pub fn smooth_duct(length: f64, diameter: f64) -> String {
    duct(length, &[(0.0, diameter)], 0.0)
}

/// Keys of a round duct with a constant friction factor and without separation: `sections` are places and diameters [m].
#[must_use]
pub fn duct(length: f64, sections: &[(f64, f64)], friction_factor: f64) -> String {
    let sections: Vec<_> =
        sections.iter().map(|(at, diameter)| format!("{{at: {at} m, diameter: {diameter} m}}")).collect();
    let sections = sections.join(", ");
    format!(
        "kind: duct, length: {length} m, friction_factor: {friction_factor}, separation: no, sections: [{sections}]"
    )
}

/// Places and diameters [m] of the `cells` + 1 faces of a duct of `length` [m]. Between two cross-sections the area runs straight, so
/// only a cross-section at each face gives any other shape exactly.
#[must_use]
pub fn sections_at_faces(length: f64, cells: u32, diameter: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let faces = (0..=cells).map(|face| length * f64::from(face) / f64::from(cells));
    faces.map(|at| (at, diameter(at))).collect()
}

/// Keys of a mouth of the given diameter [m] with an edge that costs nothing but what a large radius costs.
#[must_use]
pub fn mouth(diameter: f64) -> String {
    format!("kind: mouth, area: {} m2, lip_radius: {diameter} m", 0.25 * std::f64::consts::PI * diameter * diameter)
}

/// Keys of a draw that takes some `mass_flow` [kg/s] when the total pressure [Pa] and temperature [K] before it are those given. It lets
/// sound out, where a given mass flow would throw it back and ring for seconds.
#[must_use]
pub fn draw(mass_flow: f64, total_pressure: f64, total_temperature: f64) -> String {
    format!("kind: draw, corrected_flow: {mass_flow} kg/s, at: [{total_temperature} K, {total_pressure} Pa]")
}

/// Keys of `run` until nothing changes any more, on cells of a length [m].
#[must_use]
pub fn settled(cell: f64) -> String {
    format!("march: acoustic, until: settled, settled_below: {SETTLED}, cell: {cell} m")
}

fn push_line(text: &mut String, line: std::fmt::Arguments<'_>) {
    // Writing into a string cannot fail.
    let _ = writeln!(text, "{line}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_case_reads_like_one_written_by_hand() {
        let case = CaseText::new(1e5, 300.0)
            .part("left", "kind: wall")
            .part("tube", smooth_duct(1.0, 0.1))
            .part("right", "kind: wall")
            .line(&["left", "tube", "right"])
            .initial(
                "tube",
                Stretch { from: 0.0, to: 0.5 },
                InitialState { pressure: 2e5, temperature: 350.25, velocity: -1.0 },
            )
            .run("march: acoustic, until: 0.001 s");
        let expected = "\
outside: {pressure: 100000 Pa, temperature: 300 K, gas: {gamma: 1.4, gas_constant: 287.05 J/(kg K)}}
parts:
  left: {kind: wall}
  tube: {kind: duct, length: 1 m, friction_factor: 0, separation: no, sections: [{at: 0 m, diameter: 0.1 m}]}
  right: {kind: wall}
flow:
  - [left, tube, right]
initial:
  - {part: tube, from: 0 m, to: 0.5 m, pressure: 200000 Pa, temperature: 350.25 K, velocity: -1 m/s}
run: {march: acoustic, until: 0.001 s}
";
        assert_eq!(case.text(), expected);
    }
}
