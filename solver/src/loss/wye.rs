//! Junction of three or more ducts: one continuous law for every flow pattern.
//!
//! Legs have outward directions. Air that goes from leg j into leg k is turned by `d = 180 deg - angle between their directions`; inside
//! the wye it has turned by `a = 3/4 d` when it meets the new stream. A stream that goes nearly straight on keeps more of its head:
//! `L = 1 - 0.6 cos(3 d)` below 30 degrees, 1 above. With h the velocity head of a leg, mu the share
//! of the inflow that a supplier brings, nu the share of the outflow that a collector takes, the total pressures are
//!
//! ```text
//! ram on leg k:     R_k  = sum over suppliers j != k of  mu_j (1 - L_jk) h_j
//! supplier k:       p0_k = P + h_k + R_k
//! collector k:      p0_k = P + R_k + sum over suppliers j of  mu_j L_jk (2 sqrt(h_j h_k) cos a_jk - h_k)
//! ```
//!
//! with one reference pressure P for the wye. With one supplier that is Hager's dividing branch `1 + w^2 - 2 w cos(3/4 d)` and
//! Idelchik's straight run `0.4 q^2`; with two suppliers it is a shock of each stream with the collector's, weighted by flow.
//!
//! **Total dissipation is never negative.** Per kilogram it is the sum of mu p0 over suppliers less the sum of nu p0 over collectors.
//! P cancels, as both shares sum to one. What is left is
//! `sum_jk mu_j nu_k [h_j - (1 - L_jk) h_j + L_jk h_k - 2 L_jk sqrt(h_j h_k) cos a_jk] + sum_j mu_j R_j`
//! `= sum_jk mu_j nu_k L_jk (h_j + h_k - 2 sqrt(h_j h_k) cos a_jk) + sum_j mu_j R_j`,
//! and each term is at least `mu nu L (sqrt(h_j) - sqrt(h_k))^2` or a ram, none of them negative.
//!
//! **It is continuous.** When the flow of a leg passes zero, its head and its share vanish, and both forms leave `P + R_k`. When all flow
//! vanishes, all heads do.
//!
//! Angle rule: Hager (1984), Proc. IMechE 198C, 63; Bassett, Winterbone and Pearson (2001), Proc. IMechE C 215, 861. Straight run:
//! Idelchik, Handbook of Hydraulic Resistance, 3rd ed. (1994), chapter 7.

use std::f64::consts::PI;

/// Deflection [rad] below which a stream counts as going straight on.
const STRAIGHT: f64 = PI / 6.0;

/// What turns a stream from one leg into another.
#[derive(Debug, Clone, Copy)]
struct Turn {
    /// Cosine of three quarters of the deflection.
    cosine: f64,
    /// Share L of the shock loss.
    shock: f64,
}

impl Turn {
    fn new(from: f64, into: f64) -> Self {
        let between = libm::acos(libm::cos(from - into).clamp(-1.0, 1.0));
        let deflection = PI - between;
        let shock = if deflection < STRAIGHT { 1.0 - 0.6 * libm::cos(3.0 * deflection) } else { 1.0 };
        Self { cosine: libm::cos(0.75 * deflection), shock }
    }
}

/// The legs of a wye.
#[derive(Debug, Clone)]
pub struct Wye {
    legs: usize,
    /// Turns, [from * legs + into].
    turns: Vec<Turn>,
}

impl Wye {
    /// A wye whose first leg is the trunk; `angles` [rad], one a leg, say by how much air from the trunk is turned on its way into each
    /// leg. The trunk's own entry is not used: it points backwards.
    #[must_use]
    pub fn new(angles: &[f64]) -> Self {
        let direction = |leg: usize| if leg == 0 { PI } else { angles[leg] };
        let legs = angles.len();
        let turns = (0..legs * legs).map(|pair| Turn::new(direction(pair / legs), direction(pair % legs))).collect();
        Self { legs, turns }
    }

    /// Total pressure of `leg` above the wye's reference pressure [Pa].
    ///
    /// `flows` are mass flows [kg/s], positive into the wye; `heads` are p0 - p of the legs' end sections [Pa], not negative. Both have
    /// one entry a leg.
    #[must_use]
    pub fn offset(&self, leg: usize, flows: &[f64], heads: &[f64]) -> f64 {
        let inflow: f64 = flows.iter().map(|flow| flow.max(0.0)).sum();
        if inflow <= 0.0 {
            return 0.0;
        }
        let supplies = flows[leg] > 0.0;
        let own_root = heads[leg].sqrt();
        let mut offset = if supplies { heads[leg] } else { 0.0 };
        for from in (0..self.legs).filter(|&from| from != leg && flows[from] > 0.0) {
            let share = flows[from] / inflow;
            let turn = self.turns[from * self.legs + leg];
            offset += share * (1.0 - turn.shock) * heads[from];
            if !supplies {
                let exchanged = 2.0 * own_root * heads[from].sqrt() * turn.cosine - heads[leg];
                offset += share * turn.shock * exchanged;
            }
        }
        offset
    }
}
