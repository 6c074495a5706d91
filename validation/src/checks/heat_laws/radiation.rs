//! Enclosures of grey surfaces.

use crate::check::{Failure, Findings, Limit, Row};
use crate::data;
use crate::figure::Figure;
use crate::oracle::grey_surfaces;
use crate::oracle::root::bisect;
use tractwright::heat::{Enclosure, Surface, View};

const TABLE: Limit = Limit { value: 1e-8, why: "a closed form; the table has nine digits" };
const KELVIN: Limit = Limit { value: 1e-6, why: "the table has six digits" };
const ARITHMETIC: Limit = Limit { value: 1e-11, why: "a closed form and round-off of a small linear system" };

/// Computed and known.
type Pair = (f64, f64);

fn surface([area, emissivity]: [f64; 2]) -> Surface {
    Surface { area, emissivity }
}

fn enclosure(surfaces: &[[f64; 2]], views: &[View]) -> Result<Enclosure, Failure> {
    let surfaces: Vec<_> = surfaces.iter().copied().map(surface).collect();
    Enclosure::new(&surfaces, views).map_err(|fault| Failure::NoSolution(fault.to_string()))
}

/// Two plates of one square metre with shields between them, each shield a face to either side, all in one enclosure.
struct Stack {
    enclosure: Enclosure,
    temperatures: [f64; 2],
    shields: usize,
}

impl Stack {
    fn new(temperatures: [f64; 2], emissivities: [f64; 2], shields: &[[f64; 2]]) -> Result<Self, Failure> {
        let faces = shields.iter().flatten().copied();
        let all = std::iter::once(emissivities[0]).chain(faces).chain(std::iter::once(emissivities[1]));
        let surfaces: Vec<_> = all.map(|emissivity| [1.0, emissivity]).collect();
        let gaps = (0..=shields.len()).map(|gap| View { from: 2 * gap, to: 2 * gap + 1, factor: 1.0 });
        Ok(Self { enclosure: enclosure(&surfaces, &gaps.collect::<Vec<_>>())?, temperatures, shields: shields.len() })
    }

    /// Heat that every surface loses [W/m^2] with shields of these temperatures [K].
    fn heat(&self, shields: &[f64]) -> Vec<f64> {
        let [first, second] = self.temperatures;
        let faces = shields.iter().flat_map(|&shield| [shield; 2]);
        let temperatures: Vec<_> = std::iter::once(first).chain(faces).chain(std::iter::once(second)).collect();
        let mut heat = vec![0.0; temperatures.len()];
        self.enclosure.heat(&temperatures, &mut heat);
        heat
    }

    /// Temperatures of the shields [K] once they have settled, and the heat that passes [W/m^2]. One shield after the other takes the
    /// temperature at which it loses nothing, until none moves.
    fn settled(&self) -> Result<(Vec<f64>, f64), Failure> {
        let [first, second] = self.temperatures;
        let mut shields = vec![second; self.shields];
        for _ in 0..1_000 {
            let mut moved = 0.0_f64;
            for number in 0..self.shields {
                let loss = |temperature: f64| {
                    let mut shields = shields.clone();
                    shields[number] = temperature;
                    let heat = self.heat(&shields);
                    heat[2 * number + 1] + heat[2 * number + 2]
                };
                let rest = bisect(second, first, loss).ok_or_else(|| Failure::NoSolution("a shield".to_owned()))?;
                moved = moved.max((rest - shields[number]).abs());
                shields[number] = rest;
            }
            if moved <= 1e-12 {
                let heat = self.heat(&shields)[0];
                return Ok((shields, heat));
            }
        }
        Err(Failure::NoSolution("shields that settle".to_owned()))
    }
}

fn shields_of(row: &data::Row) -> Result<Vec<[f64; 2]>, Failure> {
    let text = row.text("shields")?;
    let number = |part: &str| part.parse::<f64>().map_err(|_| Failure::Missing(format!("number in {text}")));
    let pair = |text: &str| match text.split_once('/') {
        Some((hot, cold)) => Ok([number(hot)?, number(cold)?]),
        None => Err(Failure::Missing("pair of emissivities".to_owned())),
    };
    text.split_whitespace().map(pair).collect()
}

pub(super) fn plates() -> Result<Findings, Failure> {
    let (mut heats, mut temperatures) = (Vec::new(), Vec::new());
    for row in data::rows(data::SHIELDS)? {
        let plates = [row.number("T1_K")?, row.number("T2_K")?];
        let stack = Stack::new(plates, [row.number("e1")?, row.number("e2")?], &shields_of(&row)?)?;
        let (shields, heat) = stack.settled()?;
        heats.push((heat, row.number("q_W_m2")?));
        for shield in shields {
            temperatures.push((shield, row.number("T_shield_K")?));
        }
    }
    let more = [[0.05, 0.85], [0.1, 0.3], [0.03, 0.03]];
    let several = |count: usize| -> Result<Pair, Failure> {
        let (ends, faces) = ([873.15, 333.15], [0.7, 0.92]);
        let shields = &more[..count];
        Ok((Stack::new(ends, faces, shields)?.settled()?.1, grey_surfaces::plates(ends, faces, shields)))
    };
    let counts = (0..=more.len()).map(several).collect::<Result<Vec<_>, _>>()?;
    let curve =
        |of: fn(&(f64, f64)) -> f64| counts.iter().map(of).enumerate().map(|(n, q)| (n as f64, q)).collect::<Vec<_>>();
    let figure = Figure::new("Heat between plates over shields between them", "shields", "heat [W/m2]")
        .logarithmic(false, true)
        .computed("computed", curve(|pair| pair.0))
        .reference("closed form", curve(|pair| pair.1));
    Ok(Findings::from(vec![
        Row::worst("heat between plates, no shield or one [W/m2]", heats, TABLE),
        Row::worst("temperature of the shield [K]", temperatures, KELVIN),
        Row::relative("heat through two shields [W/m2]", counts[2].0, counts[2].1, ARITHMETIC),
        Row::relative("heat through three shields [W/m2]", counts[3].0, counts[3].1, ARITHMETIC),
    ])
    .with(figure))
}

/// Exchange area of a body and of what surrounds it, for ratios of their areas from nothing to one.
fn bodies() -> Result<Vec<(f64, Pair)>, Failure> {
    let ratios = [1e-4, 0.01, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 1.0];
    let one = |ratio: f64| {
        let (body, around) = ([0.2, 0.7], [0.2 / ratio, 0.15]);
        let found = enclosure(&[body, around], &[])?.factor(0, 1);
        Ok((ratio, (found, grey_surfaces::surrounded(body, around))))
    };
    ratios.into_iter().map(one).collect()
}

/// Heat [W] between two sides of a long triangle whose third side passes none: computed and by the closed form.
fn triangle() -> Result<Pair, Failure> {
    // The view between two sides, by crossed strings.
    let (first, second, third) = ([0.5, 0.8], [0.4, 0.3], [0.6, 0.9]);
    let view = (first[0] + second[0] - third[0]) / (2.0 * first[0]);
    let [hot, cold] = [700.0, 330.0];
    let triangle = enclosure(&[first, second, third], &[View { from: 0, to: 1, factor: view }])?;
    let heat = |free: f64| {
        let mut heat = [0.0; 3];
        triangle.heat(&[hot, cold, free], &mut heat);
        heat
    };
    let free =
        bisect(cold, hot, |free| heat(free)[2]).ok_or_else(|| Failure::NoSolution("the third side".to_owned()))?;
    let powers = grey_surfaces::SIGMA * (hot.powi(4) - cold.powi(4));
    Ok((heat(free)[0], powers * grey_surfaces::reradiating(first, second, view)))
}

/// A bay of six surfaces: exchange areas computed and by light that is followed.
fn bay() -> Result<Vec<Pair>, Failure> {
    let areas = [0.1, 0.3, 0.3, 0.05, 0.6, 3.0];
    let emissivities = [0.7, 0.05, 0.85, 1.0, 0.92, 0.4];
    let given = [(0, 1, 0.6), (0, 3, 0.1), (2, 4, 0.5), (3, 4, 0.3), (4, 4, 0.1), (1, 4, 0.2)];
    // The whole matrix by hand: the reverse of each view, and the skin for what is left.
    let mut views = [[0.0; 6]; 6];
    for (from, to, factor) in given {
        views[from][to] = factor;
        views[to][from] = factor * areas[from] / areas[to];
    }
    for from in 0..5 {
        views[from][5] = 1.0 - views[from][..5].iter().sum::<f64>();
        views[5][from] = views[from][5] * areas[from] / areas[5];
    }
    views[5][5] = 1.0 - views[5][..5].iter().sum::<f64>();
    let known = grey_surfaces::exchange(areas, emissivities, views);
    let surfaces: Vec<_> = areas.into_iter().zip(emissivities).map(|(area, emissivity)| [area, emissivity]).collect();
    let bay = enclosure(&surfaces, &given.map(|(from, to, factor)| View { from, to, factor }))?;
    let pairs = (0..6).flat_map(|from| (0..6).map(move |to| (from, to)));
    Ok(pairs.map(|(from, to)| (bay.factor(from, to), known[from][to])).collect())
}

pub(super) fn enclosures() -> Result<Findings, Failure> {
    let bodies = bodies()?;
    let figure = Figure::new(
        "Exchange of a body of emissivity 0.7 with what surrounds it, of 0.15",
        "area of the body over area around",
        "exchange area [m2]",
    )
    .computed("computed", bodies.iter().map(|(ratio, pair)| (*ratio, pair.0)))
    .reference("closed form", bodies.iter().map(|(ratio, pair)| (*ratio, pair.1)));
    let (found, known) = triangle()?;
    Ok(Findings::from(vec![
        Row::worst("exchange of a body with its surroundings [m2]", bodies.iter().map(|(_, pair)| *pair), ARITHMETIC),
        Row::relative("heat between two sides, the third insulated [W]", found, known, ARITHMETIC),
        Row::worst("exchange areas of six surfaces [m2]", bay()?, ARITHMETIC),
    ])
    .with(figure))
}
