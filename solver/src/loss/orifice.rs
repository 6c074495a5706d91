//! Orifice plate and gap: a jet that expands into what lies behind.

use super::area_change::{before_expansion, jet};
use super::published::PublishedSpread;
use super::{Basis, Direction, Loss, Place, RATED_REYNOLDS, Stream, equivalent_diameter};
use crate::gas::Gas;

/// Discharge coefficient of a sharp-edged plate between two volumes. Common practice, between Kirchhoff's 0.611 and measured 0.60 to 0.62.
pub const PLATE_BETWEEN_VOLUMES: f64 = 0.61;

/// Discharge coefficient assumed for a gap along a seam. Common practice, no source.
pub const GAP: f64 = 0.62;

/// Guesses at the area of a jet; three settle it at a drop of a tenth of the pressure.
const MOST_GUESSES: usize = 50;

/// Widest hole over duct for which the standard's coefficient holds, and what round-off may add to it.
const WIDEST_RATIO: f64 = 0.75;
const ROUND_OFF: f64 = 1e-9;

/// Discharge coefficient of an orifice plate with corner taps, hole over duct diameter `ratio`, in a duct of `diameter` [m] at Reynolds
/// number `reynolds` of the duct.
///
/// Reader-Harris and Gallagher, ISO 5167-2:2003, eq. 4, with both tap terms zero. For `ratio` up to 0.75; its uncertainty is 0.5 %.
#[must_use]
pub fn reader_harris_gallagher(ratio: f64, diameter: f64, reynolds: f64) -> f64 {
    let square = ratio * ratio;
    let a = libm::pow(19_000.0 * ratio / reynolds, 0.8);
    let small_duct = 0.011 * (0.75 - ratio) * (2.8 - diameter / 0.0254).max(0.0);
    0.5961 + 0.0261 * square - 0.216 * square * square * square * square
        + 0.000_521 * libm::pow(1e6 * ratio / reynolds, 0.7)
        + (0.0188 + 0.0063 * a) * libm::pow(ratio, 3.5) * libm::pow(1e6 / reynolds, 0.3)
        + small_duct
}

/// Area of the jet over the area of the hole: the value with which an isentropic jet and its sudden expansion give both the flow and
/// the lasting loss of ISO 5167 in incompressible flow, `C / sqrt(1 - beta^4 (1 - C^2))`.
#[must_use]
pub fn contraction_coefficient(discharge_coefficient: f64, area_ratio: f64) -> f64 {
    let square = area_ratio * area_ratio;
    discharge_coefficient / (1.0 - square * (1.0 - discharge_coefficient * discharge_coefficient)).sqrt()
}

/// Area of the jet over the area of the hole when the jet's Mach number is `mach`, `still` being that of slow flow.
///
/// Momentum of the air before the hole, `(p0 - p) A + F = m V`: the pressure on the plate falls short of p0 by F, more with a wider
/// jet, and a jet of lighter gas needs more room. For a Borda mouthpiece (half the area) F is nothing at any Mach number, for an ideal
/// nozzle (the whole area) isentropic flow gives it. Jobson (1955), Proc. IMechE 169, 767, keeps `F rho0 A / m^2` at its value in
/// slow flow, which is exact for the mouthpiece; here it goes over linearly to that of the nozzle, which is exact for both (derived). For a
/// sharp-edged plate the flow is then that of ISO 5167-2, equation 5, within the uncertainty which the standard gives.
#[must_use]
pub fn compressible_contraction(gas: &Gas, still: f64, mach: f64) -> f64 {
    let rise = 0.5 * (gas.gamma - 1.0) * mach * mach;
    if still >= 1.0 || rise <= 0.0 {
        return still;
    }
    // In units of p0 and rho0, an area each: force that drives the jet, its momentum, and the square of its mass flow.
    let over = gas.gamma / (gas.gamma - 1.0);
    let cooled = libm::log1p(rise);
    let drive = -libm::expm1(-over * cooled);
    let density = libm::exp(-cooled / (gas.gamma - 1.0));
    let square_speed = 2.0 * over * rise / (1.0 + rise);
    let thrust = density * square_speed;
    let square_flow = density * thrust;
    let slow_defect = (still - 0.5) / (still * still);
    let nozzle = (thrust - drive) / (0.5 * square_flow);
    let defect = slow_defect * (1.0 + (2.0 * still - 1.0).max(0.0) * (nozzle - 1.0));
    let root = (1.0 - 4.0 * defect * square_flow * drive / (thrust * thrust)).max(0.0).sqrt();
    2.0 * drive / (thrust * (1.0 + root))
}

/// A sharp-edged opening.
///
/// The jet is isentropic down to its smallest section, sonic at most, and then loses what a sudden expansion loses. Its contraction
/// goes with its Mach number ([`compressible_contraction`]) up to choking. What a real sharp-edged hole passes beyond, as its jet goes on
/// widening (up to a sixth more, Perry (1949), Trans. ASME 71, 757), is left out.
#[derive(Debug, Clone)]
pub struct Orifice {
    hole: f64,
    discharge_coefficient: Option<f64>,
    thickness: f64,
    place: Place,
    /// Contraction in slow flow, forward and reverse.
    contraction: [f64; 2],
    basis: Basis,
}

impl Orifice {
    /// A plate with a hole of area `hole` [m^2]; without discharge coefficient the standard's is taken.
    #[must_use]
    pub fn plate(hole: f64, discharge_coefficient: Option<f64>, thickness: f64) -> Self {
        let basis = match discharge_coefficient {
            Some(value) => Basis::Assumed(format!("discharge coefficient {value} as given")),
            None => Basis::Handbook("ISO 5167-2, Reader-Harris and Gallagher".to_owned()),
        };
        Self::new(hole, discharge_coefficient, thickness, basis)
    }

    /// A gap of `width` and `length` [m].
    #[must_use]
    pub fn gap(width: f64, length: f64, discharge_coefficient: Option<f64>, thickness: f64) -> Self {
        let basis = match discharge_coefficient {
            Some(value) => format!("discharge coefficient {value} as given"),
            None => format!("discharge coefficient {GAP}, common practice"),
        };
        Self::new(width * length, Some(discharge_coefficient.unwrap_or(GAP)), thickness, Basis::Assumed(basis))
    }

    /// An opening of `area` [m^2] with a discharge coefficient that is given.
    #[must_use]
    pub fn opening(area: f64, discharge_coefficient: f64, thickness: f64) -> Self {
        let basis = Basis::Assumed(format!("discharge coefficient {discharge_coefficient}"));
        Self::new(area, Some(discharge_coefficient), thickness, basis)
    }

    fn new(hole: f64, discharge_coefficient: Option<f64>, thickness: f64, basis: Basis) -> Self {
        let contraction = [discharge_coefficient.unwrap_or(PLATE_BETWEEN_VOLUMES); 2];
        Self { hole, discharge_coefficient, thickness, place: Place::default(), contraction, basis }
    }

    /// Contraction in slow flow of a stream that comes from a duct of area `from` [m^2], or from a volume.
    fn contraction(&self, from: Option<f64>) -> Result<f64, String> {
        let Some(duct) = from else { return Ok(self.discharge_coefficient.unwrap_or(PLATE_BETWEEN_VOLUMES)) };
        let area_ratio = self.hole / duct;
        if area_ratio >= 1.0 {
            return Err(format!(
                "has an opening of {area_ratio:.3} times the duct's area, expected less than the duct"
            ));
        }
        let coefficient = match self.discharge_coefficient {
            Some(value) => value,
            None if area_ratio.sqrt() <= WIDEST_RATIO + ROUND_OFF => {
                reader_harris_gallagher(area_ratio.sqrt(), equivalent_diameter(duct), RATED_REYNOLDS)
            }
            None => {
                let ratio = area_ratio.sqrt();
                return Err(format!(
                    "needs `discharge_coefficient`: diameter ratio {ratio:.3}, the standard ends at {WIDEST_RATIO}"
                ));
            }
        };
        Ok(contraction_coefficient(coefficient, area_ratio))
    }

    /// Area [m^2] of the jet, of which `still` is the contraction in slow flow, before it expands to `wide` where `after` [Pa] stands.
    ///
    /// A wider jet is slower and contracts more, so that one area agrees with its own Mach number.
    fn jet_area(&self, gas: &Gas, stream: &Stream, still: f64, wide: Option<f64>, after: f64) -> f64 {
        let asked = |contraction: f64| {
            let jet = jet(gas, stream, self.hole * contraction, wide, after);
            compressible_contraction(gas, still, (jet.speed / gas.sound_speed(jet.temperature)).min(1.0))
        };
        let (mut low, mut high) = (still, compressible_contraction(gas, still, 1.0));
        let mut at = still;
        let mut excess = asked(at) - at;
        // The next guess follows from the slope of the last two; what leaves the bracket halves it.
        let mut slope = -1.0;
        for _ in 0..MOST_GUESSES {
            if excess > 0.0 {
                low = at
            } else {
                high = at
            }
            let guess = at - excess / slope;
            let next = if (low..=high).contains(&guess) { guess } else { 0.5 * (low + high) };
            if (next - at).abs() <= f64::EPSILON * at {
                break;
            }
            let found = asked(next) - next;
            slope = ((found - excess) / (next - at)).min(-1.0);
            (at, excess) = (next, found);
        }
        self.hole * at
    }
}

impl Loss for Orifice {
    fn total_pressure_before(&self, gas: &Gas, stream: &Stream, direction: Direction, after: f64) -> f64 {
        let [forward, reverse] = self.contraction;
        let (still, wide) = match direction {
            Direction::Forward => (forward, self.place.after),
            Direction::Reverse => (reverse, self.place.before),
        };
        before_expansion(gas, stream, self.jet_area(gas, stream, still, wide, after), wide, after)
    }

    fn place(&mut self, place: Place) -> Result<(), String> {
        self.place = place;
        self.contraction = [self.contraction(place.before)?, self.contraction(place.after)?];
        Ok(())
    }

    fn area(&self) -> f64 {
        self.hole * self.contraction[0].min(self.contraction[1])
    }

    fn thickness(&self) -> f64 {
        self.thickness
    }

    fn spans_area_change(&self) -> bool {
        true
    }

    fn spends_its_jet(&self) -> bool {
        true
    }

    fn basis(&self) -> Basis {
        self.basis.clone()
    }

    fn published_spread(&self) -> Option<PublishedSpread> {
        // The loss goes with the inverse square of the coefficient.
        let source = "ISO 5167-2:2003: 0.5 % of the discharge coefficient";
        let spread = PublishedSpread { law: "orifice plate", relative: 0.01, source };
        self.discharge_coefficient.is_none().then_some(spread)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::loss::inviscid;
    use std::f64::consts::PI;

    #[test]
    fn discharge_coefficient_meets_the_standards_table() {
        // (beta, Re, C) for corner taps, D = 0.1 m: ISO 5167-2:2003 eq. 4 evaluated independently.
        for (ratio, reynolds, expected) in [
            (0.2, 20_000.0, 0.599_991_433),
            (0.2, 300_000.0, 0.597_633_211),
            (0.4, 100_000.0, 0.603_092_45),
            (0.5, 300_000.0, 0.604_961_289),
            (0.6, 20_000.0, 0.619_847_452_f64),
        ] {
            let found = reader_harris_gallagher(ratio, 0.1, reynolds);
            assert!((found - expected).abs() < 1e-8, "{ratio} {reynolds}: {found}");
        }
    }

    #[test]
    fn lasting_loss_in_a_duct_is_the_standards() {
        // ISO 5167-2:2003 section 5.4: lasting loss over measured difference, (r - C b^2) / (r + C b^2), r = sqrt(1 - b^4 (1 - C^2)).
        let gas = inviscid(Gas::dry_air());
        let duct = 0.25 * PI * 0.01;
        for (ratio, coefficient) in [(0.3_f64, 0.60), (0.5, 0.605), (0.7, 0.61)] {
            let hole = duct * ratio * ratio;
            let mut plate = Orifice::plate(hole, Some(coefficient), 0.002);
            assert!(plate.place(Place { before: Some(duct), after: Some(duct) }).is_ok());
            let (pressure, temperature) = (1e5, 300.0);
            let density = pressure / (gas.gas_constant * temperature);
            let difference = 20.0;
            let beta4 = ratio.powi(4);
            let mass_flow = coefficient * hole * (2.0 * density * difference / (1.0 - beta4)).sqrt();
            let stream = Stream { mass_flow, total_temperature: temperature };
            let lost = plate.total_pressure_before(&gas, &stream, Direction::Forward, pressure) - pressure;
            let root = (1.0 - beta4 * (1.0 - coefficient * coefficient)).sqrt();
            let share = coefficient * ratio * ratio;
            let expected = difference * (root - share) / (root + share);
            // A drop of 20 Pa in 100 kPa: density changes by 2e-4.
            assert!((lost / expected - 1.0).abs() < 4e-4, "{ratio}: {lost} {expected}");
        }
    }

    #[test]
    fn flow_from_volume_to_volume_meets_the_nozzle_function_and_chokes() {
        // (p/p0, ideal mass flow [kg/s] through 1e-3 m^2 from 101325 Pa, 293.15 K, R = 287.05): isentropic, Heywood (1988) app. C.
        let gas = inviscid(Gas::new(1.4, 287.05));
        let gap = Orifice::gap(1e-3, 1.0, Some(1.0), 0.002);
        for (ratio, mass_flow) in
            [(0.99, 0.049_132_488_08), (0.9, 0.147_605_559_1), (0.6, 0.236_443_395_6), (0.3, 0.239_173_559_7)]
        {
            let stream = Stream { mass_flow, total_temperature: 293.15 };
            let before = gap.total_pressure_before(&gas, &stream, Direction::Forward, ratio * 101_325.0);
            assert!((before / 101_325.0 - 1.0).abs() < 1e-8, "{ratio}: {before}");
        }
    }

    #[test]
    fn contraction_is_exact_for_a_mouthpiece_and_a_nozzle_and_the_standards_for_a_plate() {
        let gas = Gas::new(1.4, 287.05);
        for pressure_ratio in [0.99_f64, 0.9, 0.75] {
            let mach = (5.0 * (pressure_ratio.powf(-1.0 / 3.5) - 1.0)).sqrt();
            let density = pressure_ratio.powf(1.0 / 1.4);
            // Borda: the force on the mouth's whole area becomes the momentum of the jet.
            let square_speed = 7.0 * (1.0 - pressure_ratio.powf(1.0 / 3.5));
            let borda = (1.0 - pressure_ratio) / (density * square_speed);
            assert!((compressible_contraction(&gas, 0.5, mach) / borda - 1.0).abs() < 1e-9);
            assert!((compressible_contraction(&gas, 0.999_99, mach) - 1.0).abs() < 1e-4);
            // ISO 5167-2:2003 eq. 5 for a small hole over isentropic expansion; its uncertainty is 3.5 % of the drop over kappa p.
            let expansibility = 1.0 - 0.351 * (1.0 - density);
            let isentropic = density * (square_speed / (2.0 * (1.0 - pressure_ratio))).sqrt();
            let found = compressible_contraction(&gas, 0.6, mach) / 0.6;
            let uncertainty = 0.035 * (1.0 - pressure_ratio) / 1.4;
            assert!((found * isentropic / expansibility - 1.0).abs() < uncertainty, "{pressure_ratio}: {found}");
        }
    }

    #[test]
    fn is_the_same_both_ways_between_equal_ducts_and_refuses_a_hole_wider_than_the_duct() {
        let gas = Gas::dry_air();
        let mut plate = Orifice::plate(0.002, None, 0.002);
        assert!(plate.place(Place { before: Some(0.004), after: Some(0.004) }).is_ok());
        let stream = Stream { mass_flow: 0.1, total_temperature: 300.0 };
        let forward = plate.total_pressure_before(&gas, &stream, Direction::Forward, 1e5);
        let reverse = plate.total_pressure_before(&gas, &stream, Direction::Reverse, 1e5);
        assert!((forward - reverse).abs() < 1e-9 && forward > 1e5);
        assert!(plate.place(Place { before: Some(0.001), after: None }).is_err());
        assert!(plate.place(Place { before: Some(0.0025), after: None }).is_err());
    }

    #[test]
    fn the_standards_coefficient_ends_at_its_widest_ratio() {
        let placed = |ratio: f64, coefficient: Option<f64>| {
            let duct = 0.004;
            Orifice::plate(duct * ratio * ratio, coefficient, 0.002)
                .place(Place { before: Some(duct), after: Some(duct) })
        };
        assert!(placed(0.74, None).is_ok() && placed(0.8, Some(0.6)).is_ok());
        assert!(placed(0.8, None).is_err_and(|missing| missing.contains("`discharge_coefficient`")));
    }

    #[test]
    fn a_gap_passes_0_62_of_the_ideal_flow_unless_told_otherwise() {
        let gas = inviscid(Gas::dry_air());
        let drop = |gap: Orifice, mass_flow: f64| {
            let stream = Stream { mass_flow, total_temperature: 300.0 };
            gap.total_pressure_before(&gas, &stream, Direction::Forward, 1e5) - 1e5
        };
        let (ideal, real) = (Orifice::gap(1e-3, 1.0, Some(1.0), 0.002), Orifice::gap(1e-3, 1.0, None, 0.002));
        // Drops of some ten pascals: the contraction is that of incompressible flow.
        let ratio = drop(real, 0.62 * 0.005) / drop(ideal, 0.005);
        assert!((ratio - 1.0).abs() < 1e-3, "{ratio}");
    }
}
