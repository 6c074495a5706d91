//! Conduction through layers.

use crate::check::{Failure, Findings, Limit, Measure, Row};
use crate::figure::Figure;
use crate::oracle::slab;
use tractwright::heat::{Layer, Layers};

const SERIES: Limit = Limit { value: 1e-10, why: "resistances in series; what is left of the approach to rest" };

/// A wall between two streams, each by temperature [K] and film coefficient [W/(m^2 K)].
struct Wall {
    layers: Layers,
    inner: [f64; 2],
    outer: [f64; 2],
}

impl Wall {
    /// Heat that enters through the inner and through the outer face [W/m^2].
    fn heat(&self, temperatures: &[f64]) -> [f64; 2] {
        let last = temperatures.len() - 1;
        [
            self.layers.inner_conductance(self.inner[1]) * (self.inner[0] - temperatures[0]),
            self.layers.outer_conductance(self.outer[1]) * (self.outer[0] - temperatures[last]),
        ]
    }

    fn rates(&self, temperatures: &[f64]) -> Vec<f64> {
        let [inner, outer] = self.heat(temperatures);
        let mut rates = vec![0.0; temperatures.len()];
        self.layers.rates(temperatures, inner, outer, &mut rates);
        rates
    }

    /// Temperatures [K] after `steps` of size `step` [s] by the classical method of Runge and Kutta.
    fn after(&self, mut temperatures: Vec<f64>, step: f64, steps: usize) -> Vec<f64> {
        let moved = |from: &[f64], rates: &[f64], step: f64| -> Vec<f64> {
            from.iter().zip(rates).map(|(from, rate)| from + step * rate).collect()
        };
        for _ in 0..steps {
            let first = self.rates(&temperatures);
            let second = self.rates(&moved(&temperatures, &first, 0.5 * step));
            let third = self.rates(&moved(&temperatures, &second, 0.5 * step));
            let fourth = self.rates(&moved(&temperatures, &third, step));
            for (node, temperature) in temperatures.iter_mut().enumerate() {
                *temperature += step / 6.0 * (first[node] + 2.0 * second[node] + 2.0 * third[node] + fourth[node]);
            }
        }
        temperatures
    }
}

fn wall(layers: &[Layer], slices: usize, inner: [f64; 2], outer: [f64; 2]) -> Result<Wall, Failure> {
    let layers = Layers::divided(layers, slices).map_err(|fault| Failure::NoSolution(fault.to_string()))?;
    Ok(Wall { layers, inner, outer })
}

/// Laminate, foam, laminate.
fn sandwich() -> [Layer; 3] {
    let laminate = Layer { thickness: 1.6e-3, conductivity: 0.8, density: 1550.0, heat_capacity: 900.0 };
    let foam = Layer { thickness: 5e-3, conductivity: 0.04, density: 60.0, heat_capacity: 1400.0 };
    [laminate, foam, laminate]
}

pub(super) fn steady() -> Result<Findings, Failure> {
    let (inner, outer) = ([303.15, 60.0], [363.15, 8.0]);
    let wall = wall(&sandwich(), 1, inner, outer)?;
    let temperatures = wall.after(vec![330.0; 3], 4.0, 5_000);
    // Each resistance in its place: film, halves of layers, film.
    let halves = sandwich().map(|layer| 0.5 * layer.thickness / layer.conductivity);
    let chain = [1.0 / inner[1] + halves[0], halves[0] + halves[1], halves[1] + halves[2], halves[2] + 1.0 / outer[1]];
    let heat = (inner[0] - outer[0]) / chain.iter().sum::<f64>();
    let mut passed = 0.0;
    let known: Vec<_> = chain[..3]
        .iter()
        .map(|resistance| {
            passed += resistance;
            inner[0] - heat * passed
        })
        .collect();
    let figure = Figure::new("Temperature through laminate, foam, laminate", "node", "temperature [K]")
        .computed("computed", temperatures.iter().enumerate().map(|(node, found)| (node as f64, *found)))
        .reference("resistances in series", known.iter().enumerate().map(|(node, known)| (node as f64, *known)));
    let resistance = 2.0 * halves.iter().sum::<f64>();
    Ok(Findings::from(vec![
        Row::relative("resistance from face to face [m2 K/W]", wall.layers.resistance(), resistance, SERIES),
        Row::relative("heat that enters from inside [W/m2]", wall.heat(&temperatures)[0], heat, SERIES),
        Row::relative("heat that leaves outside [W/m2]", -wall.heat(&temperatures)[1], heat, SERIES),
        Row::worst("temperatures of the layers [K]", temperatures.into_iter().zip(known), SERIES),
    ])
    .with(figure))
}

/// A slab without unit: thickness, conductivity and heat stored are one, the film is the Biot number, times are Fourier numbers.
const SLAB: Layer = Layer { thickness: 1.0, conductivity: 1.0, density: 1.0, heat_capacity: 1.0 };
/// Steps up to a Fourier number of one; stable for sixteen slices.
const STEPS: usize = 2_000;

/// Temperatures of the slab, insulated inside, at a `fourier` number.
fn cooled(biot: f64, slices: usize, fourier: f64) -> Result<Vec<f64>, Failure> {
    let steps = (STEPS as f64 * fourier).round();
    let wall = wall(&[SLAB], slices, [0.0; 2], [0.0, biot])?;
    Ok(wall.after(vec![1.0; slices], fourier / steps, steps as usize))
}

fn mean(temperatures: &[f64]) -> f64 {
    temperatures.iter().sum::<f64>() / temperatures.len() as f64
}

pub(super) fn cooling() -> Result<Findings, Failure> {
    const ORDER: Limit = Limit { value: 0.1, why: "second order, seen between eight and sixteen slices" };
    const LUMPED: Limit = Limit {
        value: 6e-3,
        why: "half the resistance stands before the face where a third acts: the rate is off by a sixth of the Biot number, 0.08",
    };
    const CUT: Limit =
        Limit { value: 1e-3, why: "sixteen slices of a thick slab, an error that falls with their square" };
    let (biot, fourier) = (1.0, 0.5);
    let error = |slices: usize| -> Result<f64, Failure> {
        Ok((mean(&cooled(biot, slices, fourier)?) / slab::mean(biot, fourier) - 1.0).abs())
    };
    let order = (error(8)? / error(16)?).log2();
    // The plastic wall of 3 mm and 0.3 W/(m K), from a tenth of its time constant on.
    let thin = 0.08;
    let mut lumped = Vec::new();
    for share in [0.1, 0.5, 1.0, 2.0] {
        let fourier = share / thin;
        lumped.push((mean(&cooled(thin, 1, fourier)?), slab::mean(thin, fourier)));
    }
    let profile = cooled(biot, 16, fourier)?;
    let place = |slice: usize| (slice as f64 + 0.5) / 16.0;
    let pairs: Vec<_> = profile
        .iter()
        .enumerate()
        .map(|(slice, found)| (*found, slab::temperature(biot, fourier, place(slice))))
        .collect();
    let figure = Figure::new(
        "Slab insulated on one face, Biot number 1, Fourier number 0.5",
        "place over thickness",
        "temperature, start 1, stream 0",
    )
    .computed("sixteen slices", profile.iter().enumerate().map(|(slice, found)| (place(slice), *found)))
    .reference("series", (0..=50).map(|step| f64::from(step) / 50.0).map(|x| (x, slab::temperature(biot, fourier, x))));
    Ok(Findings::from(vec![
        Row::worst_by(
            Measure::Absolute,
            "heat left in a thin wall of one node, over the heat at the start",
            lumped,
            LUMPED,
        ),
        Row::worst("temperatures in a thick slab of sixteen nodes", pairs, CUT),
        Row::at_least("order in the thickness of slices", order, 2.0, ORDER),
    ])
    .with(figure))
}
