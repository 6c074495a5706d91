//! Mean Nusselt numbers of outer surfaces. Incropera et al., Fundamentals of Heat and Mass Transfer, 7th ed. (2011), by number of equation.

use libm::pow;

/// Upright plate in still air. Churchill and Chu (1975); eq. 9.26.
#[must_use]
pub fn upright_plate(rayleigh: f64, prandtl: f64) -> f64 {
    let bottom = pow(1.0 + pow(0.492 / prandtl, 0.5625), 8.0 / 27.0);
    pow(0.825 + 0.387 * pow(rayleigh, 1.0 / 6.0) / bottom, 2.0)
}

/// Level cylinder in still air. Churchill and Chu (1975); eq. 9.34.
#[must_use]
pub fn level_cylinder(rayleigh: f64, prandtl: f64) -> f64 {
    let bottom = pow(1.0 + pow(0.559 / prandtl, 0.5625), 8.0 / 27.0);
    pow(0.60 + 0.387 * pow(rayleigh, 1.0 / 6.0) / bottom, 2.0)
}

/// Warm level plate that looks up, in still air. McAdams (1954); eq. 9.30 and 9.31.
#[must_use]
pub fn warm_face_up(rayleigh: f64) -> f64 {
    if rayleigh < 1e7 { 0.54 * pow(rayleigh, 0.25) } else { 0.15 * pow(rayleigh, 1.0 / 3.0) }
}

/// Warm level plate that looks down, in still air. McAdams (1954); eq. 9.32 with the coefficient of earlier editions, 0.27.
#[must_use]
pub fn warm_face_down(rayleigh: f64) -> f64 {
    0.27 * pow(rayleigh, 0.25)
}

/// Flat plate in a stream, laminar up to a Reynolds number of 5e5, then turbulent; eq. 7.30 and 7.38.
#[must_use]
pub fn plate(reynolds: f64, prandtl: f64) -> f64 {
    let laminar = 0.664 * pow(reynolds, 0.5);
    let mixed = 0.037 * pow(reynolds, 0.8) - 871.0;
    pow(prandtl, 1.0 / 3.0) * if reynolds < 5e5 { laminar } else { mixed }
}

/// The same, turbulent from its edge on; eq. 7.38 with nothing taken off.
#[must_use]
pub fn tripped_plate(reynolds: f64, prandtl: f64) -> f64 {
    0.037 * pow(reynolds, 0.8) * pow(prandtl, 1.0 / 3.0)
}

/// Cylinder across a stream. Churchill and Bernstein (1977); eq. 7.54.
#[must_use]
pub fn cylinder(reynolds: f64, prandtl: f64) -> f64 {
    let bottom = pow(1.0 + pow(0.4 / prandtl, 2.0 / 3.0), 0.25);
    let tail = pow(1.0 + pow(reynolds / 282_000.0, 5.0 / 8.0), 4.0 / 5.0);
    0.3 + 0.62 * pow(reynolds, 0.5) * pow(prandtl, 1.0 / 3.0) / bottom * tail
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data;
    use approx::assert_relative_eq;

    #[test]
    fn laws_agree_with_the_table() {
        for row in data::rows(data::CONVECTION).unwrap() {
            let (number, prandtl) = (row.number("Ra_or_Re").unwrap(), row.number("Pr").unwrap());
            let law = match row.text("surface").unwrap() {
                "upright_plate" => upright_plate(number, prandtl),
                "warm_face_up" => warm_face_up(number),
                "warm_face_down" => warm_face_down(number),
                "plate" => plate(number, prandtl),
                "tripped_plate" => tripped_plate(number, prandtl),
                "level_cylinder" => level_cylinder(number, prandtl),
                "cylinder" => cylinder(number, prandtl),
                other => panic!("no law for {other}"),
            };
            assert_relative_eq!(law, row.number("Nu").unwrap(), max_relative = 1e-8);
        }
    }
}
