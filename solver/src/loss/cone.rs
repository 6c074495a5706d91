//! Separation loss of a widening duct.

/// Share of the Borda-Carnot loss that a diffuser of full cone angle `angle` [rad] has: 3.2 tan^1.25(angle/2), at most one.
///
/// Idelchik, Handbook of Hydraulic Resistance, 3rd ed. (1994), section 5. Handbooks differ by 25 %.
#[must_use]
pub fn separation_share(angle: f64) -> f64 {
    if angle <= 0.0 {
        return 0.0;
    }
    (3.2 * libm::pow(libm::tan(0.5 * angle.min(std::f64::consts::FRAC_PI_2)), 1.25)).min(1.0)
}

/// Heads of the narrow section lost in a diffuser of full cone angle `angle` [rad] and area ratio `narrow / wide`, friction apart.
#[must_use]
pub fn coefficient(angle: f64, narrow_over_wide: f64) -> f64 {
    let lost = 1.0 - narrow_over_wide;
    separation_share(angle) * lost * lost
}

/// Full cone angle [rad] of the round duct that widens by `area_slope` [m] (area per length) at `area` [m^2].
#[must_use]
pub fn equivalent_angle(area: f64, area_slope: f64) -> f64 {
    // D = sqrt(4 A / pi), so dD/dx = (dA/dx) / sqrt(pi A), and tan(angle/2) = (dD/dx) / 2.
    2.0 * libm::atan(0.5 * area_slope / (std::f64::consts::PI * area).sqrt())
}

/// Heads of the local velocity lost per length [1/m] where a duct that began to widen at `start` [m^2] has `area` [m^2] and widens by
/// `area_slope` [m].
///
/// The law of the whole diffuser, `share (1 - A1/A)^2` on the first velocity, differentiated in A: `2 share (A/A1 - 1) (dA/dx) / A` on
/// the local one. Zero where the duct narrows.
#[must_use]
pub fn heads_per_length(start: f64, area: f64, area_slope: f64) -> f64 {
    if area_slope <= 0.0 {
        return 0.0;
    }
    2.0 * separation_share(equivalent_angle(area, area_slope)) * (area / start - 1.0).max(0.0) * area_slope / area
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn meets_the_handbook() {
        // Idelchik's formula; (full angle [deg], A1/A2, K).
        for (degrees, ratio, expected) in
            [(5.0, 0.25, 0.035_924_3), (14.0, 0.5, 0.058_146), (30.0, 0.4, 0.222_084), (20.0, 0.8, 0.014_625_4_f64)]
        {
            let found = coefficient(degrees * PI / 180.0, ratio);
            assert!((found - expected).abs() < 1e-6, "{degrees} {ratio}: {found}");
        }
    }

    #[test]
    fn steep_cones_lose_what_a_sudden_expansion_loses() {
        assert!((coefficient(PI / 3.0, 0.25) - 0.5625).abs() < 1e-12);
        assert!((coefficient(3.0, 0.25) - 0.5625).abs() < 1e-12);
        assert!(coefficient(0.0, 0.25).abs() < 1e-300);
    }

    #[test]
    fn spread_along_a_cone_it_sums_to_the_whole() {
        let (first, half_angle_slope) = (0.07_f64, 0.06);
        let area = |x: f64| 0.25 * PI * (first + 2.0 * half_angle_slope * x).powi(2);
        let slope = |x: f64| PI * (first + 2.0 * half_angle_slope * x) * half_angle_slope;
        let (length, cells) = (0.25, 20_000);
        let step = length / f64::from(cells);
        let sum: f64 = (0..cells)
            .map(|cell| {
                let x = (f64::from(cell) + 0.5) * step;
                heads_per_length(area(0.0), area(x), slope(x)) * (area(0.0) / area(x)).powi(2) * step
            })
            .sum();
        let whole = coefficient(2.0 * half_angle_slope.atan(), area(0.0) / area(length));
        assert!((sum / whole - 1.0).abs() < 1e-6, "{sum} {whole}");
    }
}
