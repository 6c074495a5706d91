//! Radiation between the grey, diffuse surfaces of an enclosure.
//!
//! What leaves a surface, its radiosity, is what it emits and what it reflects of the others':
//! `J_i = e_i E_i + (1 - e_i) sum_j F_ij J_j` with `E = sigma T^4` (Incropera et al., 7th ed. 2011, section 13.3). This is linear in the
//! emissive powers, so that it is solved once: the heat from surface i to j by all ways, straight and reflected, is an area that
//! depends on shape and emissivity alone, times `sigma (T_i^4 - T_j^4)`.

use super::view_factors::{EnclosureFault, View, ViewFactors};
use faer::Mat;
use faer::linalg::solvers::Solve;

/// Stefan-Boltzmann constant [W/(m^2 K^4)]. CODATA 2018.
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// A surface of one temperature and one emissivity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Area [m^2].
    pub area: f64,
    /// Emissivity, more than 0 and at most 1.
    pub emissivity: f64,
}

/// Exchange of radiation in a closed enclosure.
#[derive(Debug, Clone, PartialEq)]
pub struct Enclosure {
    views: ViewFactors,
    /// Exchange areas [m^2], a symmetric matrix by rows.
    exchange: Vec<f64>,
}

impl Enclosure {
    /// The enclosure of `surfaces`, of which the last one closes it, and which see of each other what [`ViewFactors::complete`] makes
    /// of `views`.
    ///
    /// # Errors
    /// When an emissivity is out of its range, or surfaces and views do not fit.
    pub fn new(surfaces: &[Surface], views: &[View]) -> Result<Self, EnclosureFault> {
        let range = |emissivity: f64| emissivity > 0.0 && emissivity <= 1.0;
        if let Some((surface, bad)) = surfaces.iter().enumerate().find(|(_, surface)| !range(surface.emissivity)) {
            return Err(EnclosureFault::Emissivity { surface, emissivity: bad.emissivity });
        }
        let views = ViewFactors::complete(surfaces, views)?;
        let exchange = exchange(surfaces, &views);
        Ok(Self { views, exchange })
    }

    /// How many surfaces there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.views.count()
    }

    /// What the surfaces see of each other.
    #[must_use]
    pub fn views(&self) -> &ViewFactors {
        &self.views
    }

    /// Exchange area [m^2] of two surfaces, the same either way: heat from `from` to `to` is this times `sigma (T_from^4 - T_to^4)`.
    #[must_use]
    pub fn factor(&self, from: usize, to: usize) -> f64 {
        self.exchange[from * self.count() + to]
    }

    /// The same as a conductance [W/K] at the temperatures [K] of both: the heat is this times their difference.
    #[must_use]
    pub fn conductance(&self, from: usize, to: usize, from_temperature: f64, to_temperature: f64) -> f64 {
        let squares = from_temperature * from_temperature + to_temperature * to_temperature;
        STEFAN_BOLTZMANN * self.factor(from, to) * squares * (from_temperature + to_temperature)
    }

    /// Writes the net heat [W] that each surface loses at these `temperatures` [K] into `heat`; the sum is nothing but round-off.
    ///
    /// # Panics
    /// When either slice is shorter than there are surfaces.
    pub fn heat(&self, temperatures: &[f64], heat: &mut [f64]) {
        let count = self.count();
        heat[..count].fill(0.0);
        for from in 0..count {
            for to in from + 1..count {
                let (warm, cool) = (temperatures[from], temperatures[to]);
                let passes = self.conductance(from, to, warm, cool) * (warm - cool);
                heat[from] += passes;
                heat[to] -= passes;
            }
        }
    }
}

/// `A e F (I - (1 - e) F)^-1 e`: what each surface absorbs of what each emits, per unit of emissive power.
///
/// The rows of the system sum to the emissivity, so that its diagonal dominates and a solution exists.
fn exchange(surfaces: &[Surface], views: &ViewFactors) -> Vec<f64> {
    let count = surfaces.len();
    let identity = |row: usize, column: usize| if row == column { 1.0 } else { 0.0 };
    let system = Mat::from_fn(count, count, |row, column| {
        identity(row, column) - (1.0 - surfaces[row].emissivity) * views.factor(row, column)
    });
    let emitted = Mat::from_fn(count, count, |row, column| identity(row, column) * surfaces[row].emissivity);
    let radiosity = system.partial_piv_lu().solve(&emitted);
    let absorbed = |by: usize, of: usize| {
        let reaches: f64 = (0..count).map(|through| views.factor(by, through) * radiosity[(through, of)]).sum();
        surfaces[by].area * surfaces[by].emissivity * reaches
    };
    // Symmetric but for round-off, and no ray carries heat backwards.
    let both = |one: usize, other: usize| (0.5 * (absorbed(one, other) + absorbed(other, one))).max(0.0);
    (0..count * count).map(|entry| both(entry / count, entry % count)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expected: f64) -> bool {
        (found / expected - 1.0).abs() < 1e-13
    }

    fn view(from: usize, to: usize, factor: f64) -> View {
        View { from, to, factor }
    }

    /// Six surfaces of all kinds in a large skin.
    fn bay() -> (Vec<Surface>, Enclosure) {
        let kinds = [(0.1, 0.7), (0.3, 0.05), (0.3, 0.85), (0.05, 1.0), (0.6, 0.92), (4.0, 0.9)];
        let surfaces: Vec<_> = kinds.iter().map(|&(area, emissivity)| Surface { area, emissivity }).collect();
        let views = [view(0, 1, 0.6), view(0, 3, 0.1), view(2, 4, 0.5), view(3, 4, 0.3), view(4, 4, 0.1)];
        let enclosure = Enclosure::new(&surfaces, &views).unwrap();
        (surfaces, enclosure)
    }

    #[test]
    fn each_surface_emits_all_it_can_to_some_surface() {
        let (surfaces, enclosure) = bay();
        for (from, surface) in surfaces.iter().enumerate() {
            let sum: f64 = (0..surfaces.len()).map(|to| enclosure.factor(from, to)).sum();
            assert!(close(sum, surface.area * surface.emissivity), "{from}");
            for to in 0..surfaces.len() {
                assert!(enclosure.factor(from, to) >= 0.0);
                assert!((enclosure.factor(from, to) - enclosure.factor(to, from)).abs() < 1e-300);
            }
        }
    }

    #[test]
    fn heat_is_kept_goes_from_warm_to_cool_and_rests_at_one_temperature() {
        let (surfaces, enclosure) = bay();
        let mut heat = vec![0.0; surfaces.len()];
        enclosure.heat(&[350.0; 6], &mut heat);
        assert!(heat.iter().all(|heat| heat.abs() < 1e-300));
        let temperatures = [900.0, 600.0, 450.0, 500.0, 330.0, 320.0];
        enclosure.heat(&temperatures, &mut heat);
        assert!(heat.iter().sum::<f64>().abs() < 1e-12 * heat[0]);
        assert!(heat[0] > 0.0 && heat[5] < 0.0);
        // Each bit of heat falls in temperature, so that entropy is made.
        let entropy: f64 = heat.iter().zip(temperatures).map(|(heat, temperature)| -heat / temperature).sum();
        assert!(entropy > 0.0);
    }

    #[test]
    fn the_conductance_gives_the_same_heat() {
        let (_, enclosure) = bay();
        let [warm, cool] = [873.15, 333.15_f64];
        let heat = enclosure.conductance(0, 1, warm, cool) * (warm - cool);
        assert!(close(heat, STEFAN_BOLTZMANN * enclosure.factor(0, 1) * (warm.powi(4) - cool.powi(4))));
        assert!(close(enclosure.conductance(0, 1, cool, warm), enclosure.conductance(0, 1, warm, cool)));
    }

    #[test]
    fn black_surfaces_exchange_by_sight_alone() {
        let surfaces = [0.2, 0.5, 3.0].map(|area| Surface { area, emissivity: 1.0 });
        let enclosure = Enclosure::new(&surfaces, &[view(0, 1, 0.3)]).unwrap();
        assert!(close(enclosure.factor(0, 1), 0.06) && close(enclosure.factor(0, 2), 0.14));
    }

    #[test]
    fn a_mirror_and_an_emissivity_above_one_are_refused() {
        for emissivity in [0.0, -0.1, 1.1, f64::NAN] {
            let surfaces = [Surface { area: 1.0, emissivity: 0.5 }, Surface { area: 1.0, emissivity }];
            let fault = Enclosure::new(&surfaces, &[]).unwrap_err();
            assert!(matches!(fault, EnclosureFault::Emissivity { surface: 1, .. }), "{fault}");
        }
    }

    #[test]
    fn surfaces_may_be_named_in_any_order_before_the_skin() {
        let [a, b, c] = [(0.1, 0.7), (0.4, 0.1), (3.0, 0.9)].map(|(area, emissivity)| Surface { area, emissivity });
        let one = Enclosure::new(&[a, b, c], &[view(0, 1, 0.5)]).unwrap();
        let other = Enclosure::new(&[b, a, c], &[view(1, 0, 0.5)]).unwrap();
        assert!(close(one.factor(0, 1), other.factor(1, 0)) && close(one.factor(0, 2), other.factor(1, 2)));
    }
}
