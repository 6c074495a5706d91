//! Radiation between grey diffuse surfaces: closed forms of simple enclosures, and any enclosure by following the light.

/// Stefan-Boltzmann constant [W/(m^2 K^4)]. CODATA 2018.
pub const SIGMA: f64 = 5.670_374_419e-8;

/// Heat of an area [W/m^2] between two large plates of `temperatures` [K] and `emissivities` with `shields` between them, each by the
/// emissivity of its face towards the first and towards the second plate. Incropera et al., 7th ed. (2011), eq. 13.24 and 13.28.
#[must_use]
pub fn plates(temperatures: [f64; 2], emissivities: [f64; 2], shields: &[[f64; 2]]) -> f64 {
    let gap = 1.0 / emissivities[0] + 1.0 / emissivities[1] - 1.0;
    let resistance = shields.iter().fold(gap, |sum, faces| sum + 1.0 / faces[0] + 1.0 / faces[1] - 1.0);
    SIGMA * (temperatures[0].powi(4) - temperatures[1].powi(4)) / resistance
}

/// Exchange area [m^2] of a body that does not see itself and of what surrounds it, each by area [m^2] and emissivity. Incropera et al.,
/// eq. 13.23 with a view factor of one: long cylinders, spheres, and a small body in a large room.
#[must_use]
pub fn surrounded(body: [f64; 2], around: [f64; 2]) -> f64 {
    let [area, emissivity] = body;
    area / (1.0 / emissivity + (1.0 / around[1] - 1.0) * area / around[0])
}

/// Exchange area [m^2] of two surfaces, each by area [m^2] and emissivity, in an enclosure that a third one closes through which no heat
/// passes; `view` is the view factor from the first to the second, and neither sees itself. Incropera et al., eq. 13.30.
#[must_use]
pub fn reradiating(first: [f64; 2], second: [f64; 2], view: f64) -> f64 {
    let surface = |[area, emissivity]: [f64; 2]| (1.0 - emissivity) / (emissivity * area);
    let direct = first[0] * view;
    let around = 1.0 / (1.0 / (first[0] - direct) + 1.0 / (second[0] - direct));
    1.0 / (surface(first) + 1.0 / (direct + around) + surface(second))
}

/// Exchange areas [m^2] of surfaces of `areas` [m^2] and `emissivities` with a full matrix of `views`: the light that each emits is
/// followed from reflection to reflection until less than 1e-17 of it is left. Siegel and Howell, chapter on enclosures, by their ray
/// argument in place of a system of equations.
#[must_use]
pub fn exchange<const N: usize>(areas: [f64; N], emissivities: [f64; N], views: [[f64; N]; N]) -> [[f64; N]; N] {
    std::array::from_fn(|source| {
        let mut absorbed = [0.0; N];
        let mut on_its_way = [0.0; N];
        on_its_way[source] = areas[source] * emissivities[source];
        while on_its_way.iter().sum::<f64>() > 1e-17 * areas[source] {
            let arrives: [f64; N] =
                std::array::from_fn(|to| (0..N).map(|from| on_its_way[from] * views[from][to]).sum());
            for to in 0..N {
                absorbed[to] += emissivities[to] * arrives[to];
                on_its_way[to] = (1.0 - emissivities[to]) * arrives[to];
            }
        }
        absorbed
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn followed_light_meets_the_closed_forms() {
        let two = exchange([0.3, 2.0], [0.7, 0.2], [[0.0, 1.0], [0.15, 0.85]]);
        assert_relative_eq!(two[0][1], surrounded([0.3, 0.7], [2.0, 0.2]), max_relative = 1e-12);
        assert_relative_eq!(two[1][0], two[0][1], max_relative = 1e-12);
        let plates_apart = exchange([1.0; 2], [0.7, 0.92], [[0.0, 1.0], [1.0, 0.0]])[0][1];
        let heat = plates_apart * SIGMA * (873.15_f64.powi(4) - 333.15_f64.powi(4));
        assert_relative_eq!(plates([873.15, 333.15], [0.7, 0.92], &[]), heat, max_relative = 1e-12);
    }

    #[test]
    fn a_third_surface_without_heat_joins_two_others() {
        // The emissive power of the third settles at the mean of the others, weighted by exchange.
        let third = exchange([1.0; 3], [0.6, 0.3, 0.5], [[0.0, 0.5, 0.5], [0.5, 0.0, 0.5], [0.5, 0.5, 0.0]]);
        let around = third[0][2] * third[1][2] / (third[0][2] + third[1][2]);
        assert_relative_eq!(reradiating([1.0, 0.6], [1.0, 0.3], 0.5), third[0][1] + around, max_relative = 1e-12);
    }
}
