//! Tracts of random shape: rooms joined by ducts, wyes and losses, with whatever ends a line hung on them.

use crate::case_text::InitialState;
use crate::dice::Dice;
use crate::drawing::{Bend, Drawing, Duct, Part, Shape, Wall};

/// Length of a cell [m]: run the drawings on it. Every duct is an even number of cells long.
pub const CELL: f64 = 0.02;

/// Numbers of cells in half a duct.
const HALF_CELLS: [f64; 4] = [3.0, 4.0, 5.0, 6.0];
/// Diameters of the ducts [m].
const NARROWEST: f64 = 0.04;
const WIDEST: f64 = 0.08;
/// What tells the dice of [`Pen::bays`] from the other.
const BAYS: u64 = 0x5eed_0f5a_ba75;
/// Wyes that may follow one another.
const DEEPEST: u32 = 2;

/// A tract of `rooms` rooms, at least one, on a car that drives, with parts of every kind as `seed` has them. Its gas begins in random
/// pressures, temperatures and velocities.
#[must_use]
pub fn open_tract(seed: u64, rooms: usize) -> Drawing {
    drawn(seed, rooms, Setting::Open)
}

/// A tract whose ends and walls let nothing through.
#[must_use]
pub fn closed_tract(seed: u64, rooms: usize) -> Drawing {
    drawn(seed, rooms, Setting::Closed)
}

#[derive(Clone, Copy, PartialEq)]
enum Setting {
    Open,
    Closed,
}

fn drawn(seed: u64, rooms: usize, setting: Setting) -> Drawing {
    let speed = (setting == Setting::Open).then_some(40.0);
    let drawing = Drawing { speed, ..Drawing::default() };
    let mut pen = Pen { dice: Dice(seed), bays: Dice(seed ^ BAYS), setting, drawing, bore: 0.0 };
    let rooms: Vec<String> = (0..rooms).map(|_| pen.room()).collect();
    for (index, room) in rooms.iter().enumerate().skip(1) {
        let from = pen.dice.one_of(&(0..index).collect::<Vec<_>>());
        pen.between_rooms(&rooms[from], room);
    }
    if let [first, _, .., last] = &rooms[..] {
        pen.between_rooms(last, first);
    }
    for room in &rooms {
        pen.branch(room);
        if pen.dice.happens(0.5) {
            pen.branch(room);
        }
    }
    pen.drawing
}

/// Where the drawing stands.
struct Pen {
    dice: Dice,
    /// Dice of their own say how bays that store air are breathed from, so that everything else of a seed stays as it is.
    bays: Dice,
    setting: Setting,
    drawing: Drawing,
    /// Diameter of the last duct's last end [m].
    bore: f64,
}

impl Pen {
    /// Adds a part; answers with its name.
    fn add(&mut self, word: &str, shape: Shape) -> String {
        let name = format!("{word}_{}", self.drawing.parts.len());
        self.drawing.parts.push(Part { name: name.clone(), shape });
        name
    }

    fn other(&mut self, kind: &str, keys: &str) -> String {
        let separator = if keys.is_empty() { "" } else { ", " };
        self.add(kind, Shape::Other(format!("kind: {kind}{separator}{keys}")))
    }

    fn state(&mut self) -> InitialState {
        InitialState {
            pressure: self.dice.between(7e4, 1.5e5),
            temperature: self.dice.between(250.0, 400.0),
            velocity: self.dice.between(-60.0, 60.0),
        }
    }

    fn room(&mut self) -> String {
        let (volume, state) = (self.dice.between(0.5, 8.0), self.state());
        self.add("room", Shape::Plenum(volume, state))
    }

    fn between_rooms(&mut self, from: &str, to: &str) {
        let mut line = vec![from.to_owned()];
        if self.dice.happens(0.3) {
            line.push(self.opening(0.06));
        } else {
            self.ducts(&mut line);
            if self.dice.happens(0.3) {
                line.push(self.opening(self.bore));
            }
        }
        line.push(to.to_owned());
        self.drawing.lines.push(line);
    }

    /// A line that leaves a room and ends.
    fn branch(&mut self, room: &str) {
        let mut line = vec![room.to_owned()];
        if self.setting == Setting::Open && self.dice.happens(0.25) {
            self.end_at_room(&mut line);
            self.drawing.lines.push(line);
            return;
        }
        if self.dice.happens(0.3) {
            line.push(self.opening(NARROWEST));
        }
        self.onward(line, 0);
    }

    /// Ducts, and then an end or a wye with two lines more.
    fn onward(&mut self, mut line: Vec<String>, wyes: u32) {
        self.ducts(&mut line);
        if wyes == DEEPEST || self.dice.happens(0.6) {
            self.end(&mut line);
            self.drawing.lines.push(line);
            return;
        }
        let angles = [self.dice.between(10.0, 90.0), self.dice.between(-90.0, -10.0)];
        let wye = self.add("wye", Shape::Wye(vec![("trunk", 0.0), ("left", angles[0]), ("right", angles[1])]));
        line.push(format!("{wye}.trunk"));
        self.drawing.lines.push(line);
        self.onward(vec![format!("{wye}.left")], wyes + 1);
        self.onward(vec![format!("{wye}.right")], wyes + 1);
    }

    /// One duct, or two with something between them.
    fn ducts(&mut self, line: &mut Vec<String>) {
        let first = self.dice.between(NARROWEST, WIDEST);
        line.push(self.duct(first));
        if self.dice.happens(0.5) {
            return;
        }
        let (same, other) = (self.bore, self.dice.between(NARROWEST, WIDEST));
        let coupling = self.dice.one_of(&["link", "change", "step", "elbow", "opening"]);
        match coupling {
            "step" => line.push(self.other("step", "")),
            "elbow" => {
                let angle = self.dice.between(30.0, 90.0);
                line.push(self.other("elbow", &format!("angle: {angle} deg, radius: 90 mm")));
            }
            "opening" => line.push(self.opening(same.min(other))),
            _ => {}
        }
        let onward = self.duct(if coupling == "link" { same } else { other });
        line.push(onward);
    }

    fn duct(&mut self, first: f64) -> String {
        let length = 2.0 * CELL * self.dice.one_of(&HALF_CELLS);
        let straight = self.dice.happens(0.5);
        self.bore = if straight { first } else { self.dice.between(NARROWEST, WIDEST) };
        let wall = if self.dice.happens(0.5) {
            Wall::Plain(self.dice.between(0.0, 0.05))
        } else {
            // A bend's coefficient is that of the diameter where it begins: in a cone it is not the same from both ends.
            let bend = Bend { at: 0.3 * length, angle: self.dice.between(20.0, 60.0), radius: 0.05 };
            let temperature = self.dice.between(280.0, 380.0);
            let warm = self.setting == Setting::Open && self.dice.happens(0.5);
            Wall::Rough(straight.then_some(bend), warm.then_some(temperature))
        };
        let lips = [self.dice.between(0.0, 0.01), self.dice.between(0.0, 0.01)];
        let states = [self.state(), self.state()];
        let sections = vec![(0.0, first), (length, self.bore)];
        self.add("duct", Shape::Duct(Duct { length, sections, lips, wall }, states))
    }

    /// A loss with an area of its own, narrower than a passage of diameter `bore` [m] if it has to be.
    fn opening(&mut self, bore: f64) -> String {
        match self.dice.one_of(&["filter", "screen", "orifice_plate", "gap"]) {
            "filter" => {
                let drop = self.dice.between(50.0, 300.0);
                let (twice, thrice) = (2.3 * drop, 3.9 * drop);
                let curve = format!("flow: 60 120 180 g/s, drop: {drop} {twice} {thrice} Pa, at: [20 degC, 101.3 kPa]");
                self.other("filter", &format!("media_area: 0.2 m2, curve: {{{curve}}}"))
            }
            "screen" => {
                let (pattern, open) =
                    (self.dice.one_of(&["wire_mesh", "perforated_plate"]), self.dice.between(40.0, 80.0));
                let area = 0.785 * bore * bore;
                self.other("screen", &format!("pattern: {pattern}, open_area: {open} %, area: {area} m2"))
            }
            "orifice_plate" => {
                let diameter = self.dice.between(0.4, 0.7) * bore;
                self.other("orifice_plate", &format!("diameter: {diameter} m"))
            }
            _ => self.gap(),
        }
    }

    fn gap(&mut self) -> String {
        let width = self.dice.between(0.5, 2.0);
        self.gap_of(width)
    }

    fn gap_of(&mut self, width: f64) -> String {
        self.other("gap", &format!("width: {width} mm, length: 200 mm"))
    }

    /// Ends a line behind a duct.
    fn end(&mut self, line: &mut Vec<String>) {
        let area = 0.785 * self.bore * self.bore;
        let open = ["mouth", "scoop", "draw", "draw", "draw", "inflow", "leak", "wall"];
        let last = match self.dice.one_of(if self.setting == Setting::Open { &open } else { &["wall"] }) {
            "mouth" | "scoop" => {
                let share = self.dice.between(0.9, 1.3);
                self.inlet(share * area)
            }
            "draw" => self.draw(area, ""),
            "inflow" => self.inflow(),
            "leak" => return self.leak(line),
            _ => self.other("wall", ""),
        };
        line.push(last);
    }

    /// Ends a line that has only just left its room.
    fn end_at_room(&mut self, line: &mut Vec<String>) {
        let last = match self.dice.one_of(&["inlet", "draw", "inflow", "leak"]) {
            "inlet" => self.inlet(0.003),
            "draw" => self.draw(0.003, ", bore: 62 mm"),
            "inflow" => self.inflow(),
            _ => return self.leak(line),
        };
        line.push(last);
    }

    fn inlet(&mut self, area: f64) -> String {
        let pressure_coefficient = self.dice.between(-0.3, 0.3);
        let keys = format!("area: {area} m2, lip_radius: 3 mm, pressure_coefficient: {pressure_coefficient}");
        if self.dice.happens(0.5) {
            self.other("mouth", &keys)
        } else {
            let recovery = self.dice.between(0.5, 1.0);
            self.other("scoop", &format!("{keys}, recovery: {recovery}"))
        }
    }

    fn draw(&mut self, area: f64, bore: &str) -> String {
        let flow = self.dice.between(30.0, 100.0) * area;
        let demand = match self.dice.one_of(&["flow", "corrected_flow", "depression"]) {
            "depression" => format!("depression: {} kPa", self.dice.between(0.0, 8.0)),
            demand => format!("{demand}: {flow} kg/s"),
        };
        let pulse = if self.dice.happens(0.4) {
            format!(", pulse: {{amplitude: {}, frequency: 400 Hz}}", self.dice.between(0.1, 1.4))
        } else {
            String::new()
        };
        self.other("draw", &format!("{demand}{pulse}{bore}"))
    }

    fn inflow(&mut self) -> String {
        let (flow, temperature) = (self.dice.between(1.0, 20.0), self.dice.between(280.0, 400.0));
        self.other("inflow", &format!("flow: {flow} g/s, temperature: {temperature} K"))
    }

    /// A gap to the bay, or to the outside; or a mouth in the bay.
    fn leak(&mut self, line: &mut Vec<String>) {
        let width = self.dice.between(0.5, 2.0);
        let beyond = match self.dice.one_of(&["given", "stored", "outside"]) {
            "given" => self.other("bay", "temperature: 340 K, pressure_coefficient: 0.1"),
            "stored" => {
                let bay = self.stored_bay();
                if self.bays.happens(0.5) {
                    let (area, radius) = (self.bays.between(0.001, 0.006), self.bays.between(0.0, 5.0));
                    let keys = format!("from: {bay}, area: {area} m2, lip_radius: {radius} mm");
                    line.push(self.other("mouth", &keys));
                    return;
                }
                bay
            }
            _ => "outside".to_owned(),
        };
        line.extend([self.gap_of(width), beyond]);
    }

    /// A bay that stores its air, with all that can stand in it.
    fn stored_bay(&mut self) -> String {
        let volume = self.dice.between(20.0, 100.0);
        let bay = self.other("bay", &format!("volume: {volume} L"));
        let hot = self.dice.between(400.0, 900.0);
        let keys = format!("in: {bay}, area: 500 cm2, mass: 3 kg, material: cast iron, temperature: {hot} K");
        let turbine = self.other("hot_part", &keys);
        let sees = format!("sees: {{{turbine}: 0.3}}");
        self.other("shield", &format!("in: {bay}, area: 300 cm2, material: aluminium, thickness: 1 mm, {sees}"));
        let (height, tall) = (self.dice.between(0.0, 700.0), self.dice.one_of(&[0.0, 200.0]));
        let vent = self.other("vent", &format!("area: 100 cm2, height: {height} mm, tall: {tall} mm"));
        let flow = self.dice.between(0.0, 100.0);
        let radiator = self.other("radiator", &format!("fan_flow: {flow} g/s, core: 360 K, still_conductance: 5 W/K"));
        self.drawing.lines.push(vec![bay.clone(), vent, "outside".to_owned()]);
        self.drawing.lines.push(vec![radiator, bay.clone()]);
        bay
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::marched::Tract;

    #[test]
    fn a_seed_gives_one_tract_and_another_seed_another() {
        assert_eq!(open_tract(1, 2), open_tract(1, 2));
        assert_ne!(open_tract(1, 2), open_tract(2, 2));
    }

    #[test]
    fn every_tract_is_a_sound_case() {
        for seed in 0..40 {
            for drawing in [open_tract(seed, 2), closed_tract(seed, 2), open_tract(seed, 3).backwards().cut()] {
                let text = drawing.case("until: 1 ms, cell: 20 mm");
                assert!(Tract::read(&text).is_ok(), "{seed}: {}\n{text}", Tract::read(&text).unwrap_err());
            }
        }
    }

    #[test]
    fn a_closed_tract_is_shut() {
        for seed in 0..50 {
            let drawing = closed_tract(seed, 2);
            assert!(
                drawing.kinds().all(|kind| !["mouth", "scoop", "draw", "inflow", "bay", "radiator"].contains(&kind))
            );
            assert!(drawing.lines.iter().flatten().all(|name| name != "outside"));
        }
    }
}
