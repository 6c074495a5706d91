//! A tract as a drawing, which can be written as a case, read from the other end, seen in a mirror, or cut.

use crate::case_text::{CaseText, InitialState, Stretch, duct};

/// Parts and flow lines of a tract, in air of 1 bar and 300 K.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// Speed of the car [m/s]; none for a tract that the outside does not reach.
    pub speed: Option<f64>,
    /// Parts.
    pub parts: Vec<Part>,
    /// Names in the order of the air; a leg of a wye as `wye.leg`.
    pub lines: Vec<Vec<String>>,
}

/// A part with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Name.
    pub name: String,
    /// What it is.
    pub shape: Shape,
}

/// What a part is.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A duct with the states of its first and its last half at the start.
    Duct(Duct, [InitialState; 2]),
    /// A plenum of this volume [L] with its state at the start.
    Plenum(f64, InitialState),
    /// A wye: names of its legs, the trunk first, and the angles at which they stand [deg].
    Wye(Vec<(&'static str, f64)>),
    /// A part that is the same from both sides: its keys.
    Other(String),
}

/// A round duct.
#[derive(Debug, Clone, PartialEq)]
pub struct Duct {
    /// Length [m].
    pub length: f64,
    /// Places and diameters [m], the first at 0 and the last at the length.
    pub sections: Vec<(f64, f64)>,
    /// Lip radii [m] of the first and the last end.
    pub lips: [f64; 2],
    /// What resists the flow.
    pub wall: Wall,
}

/// What resists the flow in a duct.
#[derive(Debug, Clone, PartialEq)]
pub enum Wall {
    /// A constant friction factor and nothing else: what a cut leaves as it is.
    Plain(f64),
    /// Friction and separation by the solver's laws, with a bend and a temperature [K] if it has them.
    Rough(Option<Bend>, Option<f64>),
}

/// A bend in a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bend {
    /// Where it begins [m].
    pub at: f64,
    /// Angle [deg].
    pub angle: f64,
    /// Radius of its centre line [m].
    pub radius: f64,
}

impl Drawing {
    /// The case, run by the keys `run`.
    #[must_use]
    pub fn case(&self, run: &str) -> String {
        let mut case = CaseText::new(1e5, 300.0);
        if let Some(speed) = self.speed {
            case = case.speed(speed);
        }
        for Part { name, shape } in &self.parts {
            case = shape.write(case, name);
        }
        for line in &self.lines {
            case = case.line(&line.iter().map(String::as_str).collect::<Vec<_>>());
        }
        case.run(run).text()
    }

    /// Names of the kinds of its parts.
    pub fn kinds(&self) -> impl Iterator<Item = &str> {
        self.parts.iter().map(|part| match &part.shape {
            Shape::Duct(..) => "duct",
            Shape::Plenum(..) => "plenum",
            Shape::Wye(..) => "wye",
            Shape::Other(keys) => keys.split([' ', ',']).nth(1).unwrap_or_default(),
        })
    }

    /// Names of its ducts.
    pub fn ducts(&self) -> impl Iterator<Item = &str> {
        self.parts.iter().filter(|part| matches!(part.shape, Shape::Duct(..))).map(|part| part.name.as_str())
    }

    /// Names of its plena.
    pub fn plena(&self) -> impl Iterator<Item = &str> {
        self.parts.iter().filter(|part| matches!(part.shape, Shape::Plenum(..))).map(|part| part.name.as_str())
    }

    /// The same tract, drawn from the other end: every line, every duct and the list of parts the other way round.
    #[must_use]
    pub fn backwards(&self) -> Self {
        let turned = |part: &Part| {
            let shape = match &part.shape {
                Shape::Duct(duct, [first, last]) => Shape::Duct(duct.backwards(), [last.turned(), first.turned()]),
                other => other.clone(),
            };
            Part { name: part.name.clone(), shape }
        };
        let lines = self.lines.iter().rev().map(|line| line.iter().rev().cloned().collect());
        Self { speed: self.speed, parts: self.parts.iter().rev().map(turned).collect(), lines: lines.collect() }
    }

    /// The tract in a mirror: the legs of every wye on the other side of its trunk, and the last of them first.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let mut mirrored = self.clone();
        for part in &mut mirrored.parts {
            if let Shape::Wye(legs) = &mut part.shape {
                legs[1..].reverse();
                legs.iter_mut().for_each(|leg| leg.1 = -leg.1);
            }
        }
        mirrored
    }

    /// The tract with every plain duct cut in its middle: the halves of `tube` are `tube_1` and `tube_2`, see [`halves`].
    #[must_use]
    pub fn cut(&self) -> Self {
        let mut cut = Self { parts: Vec::new(), ..self.clone() };
        for part in &self.parts {
            let Shape::Duct(duct, states) = &part.shape else {
                cut.parts.push(part.clone());
                continue;
            };
            let Some(pieces) = duct.cut() else {
                cut.parts.push(part.clone());
                continue;
            };
            let names = halves(&part.name);
            for ((name, piece), state) in names.iter().zip(pieces).zip(states) {
                cut.parts.push(Part { name: name.clone(), shape: Shape::Duct(piece, [*state; 2]) });
            }
            for line in &mut cut.lines {
                if let Some(at) = line.iter().position(|name| *name == part.name) {
                    line.splice(at..=at, names.clone());
                }
            }
        }
        cut
    }
}

/// Names of the halves of a duct that has been cut.
#[must_use]
pub fn halves(name: &str) -> [String; 2] {
    [format!("{name}_1"), format!("{name}_2")]
}

impl Shape {
    fn write(&self, case: CaseText, name: &str) -> CaseText {
        match self {
            Self::Duct(duct, [first, last]) => {
                let middle = 0.5 * duct.length;
                case.part(name, duct.keys()).initial(name, Stretch { from: 0.0, to: middle }, *first).initial(
                    name,
                    Stretch { from: middle, to: duct.length },
                    *last,
                )
            }
            Self::Plenum(volume, state) => case.part(name, format!("kind: plenum, volume: {volume} L")).initial_volume(
                name,
                state.pressure,
                state.temperature,
            ),
            Self::Wye(legs) => {
                let legs: Vec<_> = legs.iter().map(|(leg, angle)| format!("{leg}: {angle} deg")).collect();
                case.part(name, format!("kind: wye, legs: {{{}}}", legs.join(", ")))
            }
            Self::Other(keys) => case.part(name, keys),
        }
    }
}

impl Duct {
    fn keys(&self) -> String {
        let [inlet, outlet] = self.lips.map(|radius| format!("{{shape: rounded, radius: {radius} m}}"));
        let edges = format!("inlet: {inlet}, outlet: {outlet}");
        let (bend, temperature) = match &self.wall {
            Wall::Plain(friction_factor) => {
                return format!("{}, {edges}", duct(self.length, &self.sections, *friction_factor));
            }
            Wall::Rough(bend, temperature) => (bend, temperature),
        };
        let sections: Vec<_> =
            self.sections.iter().map(|(at, diameter)| format!("{{at: {at} m, diameter: {diameter} m}}")).collect();
        let bends = bend.map_or(String::new(), |Bend { at, angle, radius }| {
            format!(", bends: [{{at: {at} m, angle: {angle} deg, radius: {radius} m}}]")
        });
        let wall = temperature.map_or(String::new(), |temperature| format!(", wall: {{temperature: {temperature} K}}"));
        let (length, sections) = (self.length, sections.join(", "));
        format!("kind: duct, length: {length} m, sections: [{sections}], {edges}{bends}{wall}")
    }

    fn backwards(&self) -> Self {
        let turned = |bend: Bend| {
            let arc = bend.angle.to_radians() * bend.radius;
            Bend { at: self.length - bend.at - arc, ..bend }
        };
        Self {
            length: self.length,
            sections: self.sections.iter().rev().map(|(at, diameter)| (self.length - at, *diameter)).collect(),
            lips: [self.lips[1], self.lips[0]],
            wall: match self.wall.clone() {
                Wall::Rough(bend, temperature) => Wall::Rough(bend.map(turned), temperature),
                plain => plain,
            },
        }
    }

    /// Its halves, where its wall is plain and it has no cross-section between its ends.
    fn cut(&self) -> Option<[Self; 2]> {
        let (Wall::Plain(_), &[(_, first), (_, last)]) = (&self.wall, self.sections.as_slice()) else { return None };
        let (length, between) = (0.5 * self.length, 0.5 * (first + last));
        let piece = |from: f64, to: f64| Self { length, sections: vec![(0.0, from), (length, to)], ..self.clone() };
        Some([piece(first, between), piece(between, last)])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawing() -> Drawing {
        let state = |velocity| InitialState { pressure: 1e5, temperature: 300.0, velocity };
        let duct =
            Duct { length: 0.5, sections: vec![(0.0, 0.08), (0.5, 0.06)], lips: [0.0, 0.01], wall: Wall::Plain(0.02) };
        let part = |name: &str, shape| Part { name: name.to_owned(), shape };
        Drawing {
            speed: None,
            parts: vec![
                part("room", Shape::Plenum(2.0, state(0.0))),
                part("tube", Shape::Duct(duct, [state(1.0), state(2.0)])),
                part("end", Shape::Other("kind: wall".to_owned())),
                part("y", Shape::Wye(vec![("trunk", 0.0), ("left", 30.0), ("right", -20.0)])),
            ],
            lines: vec![vec!["room".to_owned(), "tube".to_owned(), "end".to_owned()]],
        }
    }

    #[test]
    fn what_is_turned_twice_is_as_before() {
        assert_eq!(drawing().backwards().backwards(), drawing());
        assert_eq!(drawing().mirrored().mirrored(), drawing());
        assert_ne!(drawing().backwards(), drawing());
        assert_eq!(drawing().backwards().lines, [["end", "tube", "room"]]);
        assert_eq!(
            drawing().mirrored().parts[3].shape,
            Shape::Wye(vec![("trunk", 0.0), ("right", 20.0), ("left", -30.0)])
        );
        assert_eq!(drawing().kinds().collect::<Vec<_>>(), ["plenum", "duct", "wall", "wye"]);
    }

    #[test]
    fn a_cut_duct_has_two_halves_that_meet() {
        let cut = drawing().cut();
        assert_eq!(cut.lines, [["room", "tube_1", "tube_2", "end"]]);
        let pieces: Vec<_> = cut
            .parts
            .iter()
            .filter_map(|part| match &part.shape {
                Shape::Duct(duct, states) => {
                    Some((duct.length, duct.sections[0].1, duct.sections[1].1, states[0].velocity))
                }
                _ => None,
            })
            .collect();
        assert_eq!(pieces, [(0.25, 0.08, 0.07, 1.0), (0.25, 0.07, 0.06, 2.0)]);
    }
}
