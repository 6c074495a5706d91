//! Edges between the outside and a duct.

use super::{GAS, READ_BACK, beside, disc, flow_at, found, measured, picture, published, rows};
use crate::bench::{measure_entry, measure_mouth};
use crate::case_text::{CaseText, draw};
use crate::check::{Failure, Findings, Limit, Measure, Row};

/// Bore [m] and velocity [m/s] in it: Mach 0.06.
const BORE: f64 = 0.06;
const VELOCITY: f64 = 21.0;

fn entry(inlet: &str) -> Result<f64, Failure> {
    let behind = measure_entry(BORE, inlet, flow_at(VELOCITY, BORE))?;
    Ok((1e5 - behind.total_pressure) / behind.head(GAS))
}

/// Keys of an edge of a `shape` and a radius over the bore, or of the `thin` one where there is no radius.
fn edge(shape: &str, thin: &str, ratio: f64) -> String {
    if ratio > 0.0 { format!("shape: {shape}, radius: {} m", ratio * BORE) } else { format!("shape: {thin}") }
}

pub(super) fn rounded() -> Result<Findings, Failure> {
    const SPREAD: Limit = Limit { value: 0.05, why: "what handbooks differ by" };
    const COMPONENT: &str = "entrance_rounded_flush_wall";
    let of = |method| published(COMPONENT, "r/D", method);
    let (table, methods) = (of("Idelchik")?, ["Miller", "Rennels", "Crane", "0.5/(1+36"]);
    let others = methods.map(of).into_iter().collect::<Result<Vec<_>, _>>()?;
    let measure = |ratio: f64| entry(&edge("rounded", "sharp", ratio));
    let at_table = measured(table.iter().map(|point| point.0), measure)?;
    let between = measured([0.0, 0.02, 0.05, 0.1, 0.15, 0.2], measure)?;
    let mut all = rows("r/D", &at_table, &table, READ_BACK);
    all.push(Row::relative("protruding", entry("shape: protruding")?, 1.0, READ_BACK));
    let quantity = "outside the band of four other handbooks";
    all.push(Row::worst_by(Measure::Absolute, quantity, beside(&between, &others), SPREAD));
    let title = "Entry rounded in a wall";
    let mut figure = picture(title, "radius / bore", &[at_table, between].concat(), ("Idelchik", &table));
    for (method, points) in methods.into_iter().zip(others) {
        let name = if method.starts_with('0') { "0.5 / (1 + 36 (r/D)^1.2)" } else { method };
        figure = figure.reference(name, points);
    }
    found(all, figure)
}

fn free_edge(title: &str, measure: impl Fn(f64) -> Result<f64, Failure> + Sync) -> Result<Findings, Failure> {
    let table = published("bellmouth_free_no_wall", "r/D", "Idelchik")?;
    let points = measured(table.iter().map(|point| point.0), measure)?;
    let rows = rows("r/D", &points, &table, READ_BACK);
    found(rows, picture(title, "radius / bore", &points, ("Idelchik, from memory", &table)))
}

pub(super) fn flared() -> Result<Findings, Failure> {
    free_edge("Flare that stands free", |ratio| entry(&edge("flared", "protruding", ratio)))
}

pub(super) fn lips() -> Result<Findings, Failure> {
    free_edge("Lip of a mouth at rest", |ratio| {
        let keys = format!("kind: mouth, area: {} m2, lip_radius: {} m", disc(BORE), ratio * BORE);
        let behind = measure_mouth(CaseText::new(1e5, 300.0), BORE, &keys, &draw(flow_at(VELOCITY, BORE), 1e5, 300.0))?;
        Ok((1e5 - behind.total_pressure) / behind.head(GAS))
    })
}
