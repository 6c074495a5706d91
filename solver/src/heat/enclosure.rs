//! Radiation between the grey, diffuse surfaces of an enclosure.
//!
//! The radiosities `J_i = e_i E_i + (1 - e_i) sum F_ij J_j` are solved once (Incropera et al., 7th ed. 2011, section 13.3): the heat from
//! surface i to j is a fixed area times `sigma (T_i^4 - T_j^4)`.

use faer::Mat;
use faer::linalg::solvers::Solve;

/// Stefan-Boltzmann constant [W/(m^2 K^4)]. CODATA 2018.
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// How surfaces exchange radiation.
#[derive(Debug, Clone, PartialEq)]
pub struct Enclosure {
    count: usize,
    /// Exchange areas [m^2], row by row.
    areas: Vec<f64>,
}

/// What is wrong with an enclosure.
#[derive(Debug, Clone, PartialEq)]
pub enum EnclosureFault {
    /// A surface sees more than there is: its number, and the sum of its view factors.
    SeesTooMuch(usize, f64),
    /// The last surface, which closes the enclosure, would have to send more than it has: the sum of its view factors.
    SkinTooSmall(f64),
}

impl Enclosure {
    /// The enclosure of surfaces with these `areas` [m^2] and emissivities, of which the last one closes it. `views` are pairs of
    /// surfaces with the share of the first one's radiation that reaches the second; the reverse follows by reciprocity.
    ///
    /// # Errors
    /// A surface sees more than all.
    pub fn new(areas: &[f64], emissivities: &[f64], views: &[(usize, usize, f64)]) -> Result<Self, EnclosureFault> {
        let count = areas.len();
        let skin = count - 1;
        // Areas times view factors, a symmetric matrix.
        let mut views_area = Mat::<f64>::zeros(count, count);
        for (from, to, share) in views {
            let both = areas[*from] * share;
            views_area[(*from, *to)] += both;
            if from != to {
                views_area[(*to, *from)] += both;
            }
        }
        for surface in 0..skin {
            let seen: f64 = (0..skin).map(|other| views_area[(surface, other)]).sum();
            let left = areas[surface] - seen;
            if left < -1e-9 * areas[surface] {
                return Err(EnclosureFault::SeesTooMuch(surface, seen / areas[surface]));
            }
            views_area[(surface, skin)] = left.max(0.0);
            views_area[(skin, surface)] = left.max(0.0);
        }
        let sent: f64 = (0..skin).map(|other| views_area[(skin, other)]).sum();
        if sent > areas[skin] * (1.0 + 1e-9) {
            return Err(EnclosureFault::SkinTooSmall(sent / areas[skin]));
        }
        views_area[(skin, skin)] = (areas[skin] - sent).max(0.0);
        // (I - (1 - e) F) J = e E; heat sent by i to j: e_i A_i (J-response of i to E_j).
        let system = Mat::from_fn(count, count, |row, column| {
            let own = if row == column { 1.0 } else { 0.0 };
            own - (1.0 - emissivities[row]) * views_area[(row, column)] / areas[row]
        });
        let emitted = Mat::from_fn(count, count, |row, column| if row == column { emissivities[row] } else { 0.0 });
        let radiosity = system.partial_piv_lu().solve(&emitted);
        // What i takes of what j emits: e_i sum_k A_i F_ik J_k(j).
        let mut exchange = vec![0.0; count * count];
        for row in 0..count {
            for column in 0..count {
                let reaching: f64 = (0..count).map(|other| views_area[(row, other)] * radiosity[(other, column)]).sum();
                exchange[row * count + column] = emissivities[row] * reaching;
            }
        }
        let symmetric =
            |row: usize, column: usize| 0.5 * (exchange[row * count + column] + exchange[column * count + row]);
        let areas = (0..count * count).map(|k| symmetric(k / count, k % count)).collect();
        Ok(Self { count, areas })
    }

    /// Exchange area of two surfaces [m^2]: heat from the first to the second is this times `sigma (T1^4 - T2^4)`.
    #[must_use]
    pub fn area(&self, from: usize, to: usize) -> f64 {
        self.areas[from * self.count + to]
    }

    /// The same as a conductance [W/K] at temperatures `warm` and `cool` [K].
    #[must_use]
    pub fn conductance(&self, from: usize, to: usize, warm: f64, cool: f64) -> f64 {
        STEFAN_BOLTZMANN * self.area(from, to) * (warm * warm + cool * cool) * (warm + cool)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_plates_exchange_what_the_closed_form_says() {
        let enclosure = Enclosure::new(&[2.0, 2.0], &[0.7, 0.3], &[]).expect("an enclosure");
        let exact = 2.0 / (1.0 / 0.7 + 1.0 / 0.3 - 1.0);
        assert!((enclosure.area(0, 1) / exact - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_small_body_sees_only_its_surroundings() {
        let enclosure = Enclosure::new(&[0.01, 50.0], &[0.8, 0.9], &[]).expect("an enclosure");
        let exact = 0.01 / (1.0 / 0.8 + 0.01 / 50.0 * (1.0 / 0.9 - 1.0));
        assert!((enclosure.area(0, 1) / exact - 1.0).abs() < 1e-12);
    }

    #[test]
    fn what_a_surface_sees_cannot_exceed_all() {
        let found = Enclosure::new(&[1.0, 1.0, 9.0], &[0.5; 3], &[(0, 1, 1.2)]);
        assert!(matches!(found, Err(EnclosureFault::SeesTooMuch(0, _))));
    }
}
