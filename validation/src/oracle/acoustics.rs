//! Natural frequencies of pipes, cones and vessels with necks, without losses and without mean flow.
//!
//! Kinsler, Frey, Coppens and Sanders (2000), Fundamentals of Acoustics, 4th ed., chapter 10; Fletcher and Rossing (1998), The Physics
//! of Musical Instruments, 2nd ed., chapter 8 (cones, horn). An open end holds its pressure; end corrections are part of the length.

use crate::oracle::root::bisect;
use std::f64::consts::PI;

/// Length that an open end without a flange adds, over its radius. Levine and Schwinger (1948), Physical Review 73, 383, as printed;
/// their integral evaluates to 0.6127.
pub const UNFLANGED_END: f64 = 0.6133;
/// Length that an open end in a wide flange adds, over its radius. Nomura and others; 0.821 67 by mode matching.
pub const FLANGED_END: f64 = 0.8217;

/// Frequency [Hz] of `mode` (from 1) of a pipe of `length` [m] with one closed and one open end.
#[must_use]
pub fn closed_open(sound_speed: f64, length: f64, mode: u32) -> f64 {
    f64::from(2 * mode - 1) * sound_speed / (4.0 * length)
}

/// Frequency [Hz] of `mode` (from 1) of a pipe of `length` [m] with two open or two closed ends, and of a cone open at both ends.
#[must_use]
pub fn alike_ends(sound_speed: f64, length: f64, mode: u32) -> f64 {
    f64::from(mode) * sound_speed / (2.0 * length)
}

/// A volume that breathes through a neck open to the outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resonator {
    /// Speed of sound [m/s].
    pub sound_speed: f64,
    /// Volume [m^3].
    pub volume: f64,
    /// Area of the neck [m^2].
    pub neck_area: f64,
    /// Length of the neck with its end corrections [m].
    pub neck_length: f64,
}

impl Resonator {
    /// Helmholtz's frequency [Hz], with the air of the neck taken as one lump.
    #[must_use]
    pub fn lumped_frequency(&self) -> f64 {
        self.sound_speed / (2.0 * PI) * (self.neck_area / (self.volume * self.neck_length)).sqrt()
    }

    /// Lowest frequency [Hz] with the neck as a line and the volume as one state: tan(kL) = S/(kV). A one-dimensional neck on a volume
    /// must give this one; the lumped value lies above it.
    #[must_use]
    pub fn line_frequency(&self) -> f64 {
        // In kL, between 0 and a quarter wave, the product form has no pole.
        let stiffness = self.neck_area * self.neck_length / self.volume;
        let wave = bisect(0.0, 0.5 * PI, |wave| wave * libm::sin(wave) - stiffness * libm::cos(wave));
        wave.map_or(f64::NAN, |wave| wave * self.sound_speed / (2.0 * PI * self.neck_length))
    }
}

/// A cone; its distances count from the apex.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cone {
    /// Speed of sound [m/s].
    pub sound_speed: f64,
    /// Length [m].
    pub length: f64,
    /// Small over large radius.
    pub radius_ratio: f64,
}

/// Which ends of a cone are closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClosedEnds {
    /// The small one.
    Small,
    /// The large one.
    Large,
    /// Both.
    Both,
}

impl Cone {
    /// Frequency [Hz] of `mode` (from 1).
    #[must_use]
    pub fn frequency(&self, closed: ClosedEnds, mode: u32) -> f64 {
        let small = self.length * self.radius_ratio / (1.0 - self.radius_ratio);
        let large = small + self.length;
        let (near, far) = (small / self.length, large / self.length);
        // Written with sines and cosines of kL: no poles, one root in each half turn.
        let condition = |wave: f64| {
            let (sine, cosine) = (libm::sin(wave), libm::cos(wave));
            match closed {
                ClosedEnds::Small => sine + wave * near * cosine,
                ClosedEnds::Large => sine - wave * far * cosine,
                ClosedEnds::Both => (wave * wave * near * far + 1.0) * sine - wave * cosine,
            }
        };
        let first = match closed {
            ClosedEnds::Small | ClosedEnds::Large => 0.0,
            ClosedEnds::Both => 1.0,
        };
        let low = (first + f64::from(mode - 1)) * PI;
        // The trivial root at zero is left out.
        let wave = bisect(low.max(1e-3), low + PI, condition);
        wave.map_or(f64::NAN, |wave| wave * self.sound_speed / (2.0 * PI * self.length))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::{self, Row};
    use approx::assert_relative_eq;

    const SOUND_SPEED: f64 = 343.231_978;

    /// Value behind `name=` in the details of a row.
    fn detail(row: &Row, name: &str) -> f64 {
        let details = row.text("details").unwrap();
        let (_, rest) = details.split_once(&format!("{name}=")).unwrap();
        rest.split([';', ' ']).next().unwrap().parse().unwrap()
    }

    fn end_corrections(row: &Row, open_ends: f64) -> f64 {
        let radius = 0.5 * row.number("D_m").unwrap();
        match row.text("details").unwrap().split(';').next().unwrap() {
            "none" => 0.0,
            "unflanged" => open_ends * UNFLANGED_END * radius,
            "flanged" => open_ends * FLANGED_END * radius,
            "inner flanged + outer unflanged" => (FLANGED_END + UNFLANGED_END) * radius,
            other => panic!("unknown end `{other}`"),
        }
    }

    fn resonator(row: &Row) -> Resonator {
        let diameter = row.number("D_m").unwrap();
        Resonator {
            sound_speed: SOUND_SPEED,
            volume: detail(row, "V"),
            neck_area: 0.25 * PI * diameter * diameter,
            neck_length: row.number("L_m").unwrap() + end_corrections(row, 2.0),
        }
    }

    fn cone(row: &Row, closed: ClosedEnds) -> f64 {
        let cone = Cone {
            sound_speed: SOUND_SPEED,
            length: row.number("L_m").unwrap(),
            radius_ratio: detail(row, "r1") / detail(row, "r2"),
        };
        cone.frequency(closed, mode(row))
    }

    fn mode(row: &Row) -> u32 {
        row.text("mode").unwrap().parse().unwrap()
    }

    fn frequency(row: &Row) -> f64 {
        let length = row.number("L_m").unwrap();
        match row.text("case").unwrap() {
            "quarter_wave_closed_open" => closed_open(SOUND_SPEED, length + end_corrections(row, 1.0), mode(row)),
            "open_open" => alike_ends(SOUND_SPEED, length + end_corrections(row, 2.0), mode(row)),
            "closed_closed" | "cone_open_open" => alike_ends(SOUND_SPEED, length, mode(row)),
            "helmholtz_lumped" => resonator(row).lumped_frequency(),
            "helmholtz_line_neck_lumped_volume" => resonator(row).line_frequency(),
            "cone_closed_small_open_large" => cone(row, ClosedEnds::Small),
            "cone_open_small_closed_large" => cone(row, ClosedEnds::Large),
            "cone_closed_closed" => cone(row, ClosedEnds::Both),
            "exponential_horn_closed_closed" => {
                let (flare, half_turns) = (detail(row, "m"), f64::from(mode(row)) * PI / length);
                (flare * flare + half_turns * half_turns).sqrt() * SOUND_SPEED / (2.0 * PI)
            }
            other => panic!("unknown case `{other}`"),
        }
    }

    #[test]
    fn frequencies_agree_with_the_table() {
        for row in data::rows(data::RESONANCES).unwrap() {
            assert_relative_eq!(frequency(&row), row.number("f_Hz").unwrap(), max_relative = 2e-9);
        }
    }
}
