//! The bookings of all branches side by side: what the same thing takes in each.

use crate::print::names::{Shared, merged, sides};
use tractwright::ledger::{BranchSummary, HeatItem, LossItem};

/// What the source of a duct ends with when its bends disturb each other.
const CLOSE: &str = ", closer than 4 D";

/// A line of the ledgers: one value a branch, where that branch has it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Booked {
    /// What books it.
    pub(crate) label: String,
    /// Where in the list of each branch it stands; for heat, where its first booking stands.
    pub(crate) places: Vec<Option<usize>>,
    /// Values of the branches.
    pub(crate) values: Vec<Option<f64>>,
    /// Shares of the branches' wholes.
    pub(crate) shares: Vec<Option<f64>>,
    /// Where the numbers come from, of every branch that says something else.
    pub(crate) basis: Vec<String>,
}

/// The ledgers of all branches.
#[derive(Debug, Clone)]
pub(crate) struct Ledgers {
    /// What tells the branches apart.
    pub(crate) heads: Vec<String>,
    /// Losses [Pa], from the outside to the draws.
    pub(crate) losses: Vec<Booked>,
    /// Rises [K], from the outside to the draws.
    pub(crate) heat: Vec<Booked>,
}

impl Ledgers {
    /// Of the `branches` of a result.
    pub(crate) fn of(branches: &[BranchSummary]) -> Self {
        let heads = sides(&branches.iter().map(|branch| branch.draw.as_str()).collect::<Vec<_>>());
        let parts = branches.iter().map(parts).collect();
        let shared = Shared::new(heads.clone(), parts);
        let losses: Vec<Vec<String>> = each(branches, |number, branch| {
            branch.losses.iter().map(|item| loss_label(&shared, number, item)).collect()
        });
        let heat: Vec<Vec<String>> =
            each(branches, |number, branch| branch.heat.iter().map(|item| heat_label(&shared, number, item)).collect());
        Self {
            losses: merged(&losses).into_iter().map(|label| loss_row(branches, &losses, label)).collect(),
            heat: merged(&heat).into_iter().map(|label| heat_row(branches, &heat, label)).collect(),
            heads,
        }
    }
}

fn each<T>(branches: &[BranchSummary], of: impl Fn(usize, &BranchSummary) -> T) -> Vec<T> {
    branches.iter().enumerate().map(|(number, branch)| of(number, branch)).collect()
}

/// Parts of a branch, each once.
fn parts(branch: &BranchSummary) -> Vec<String> {
    let losses = branch.losses.iter().map(|item| &item.part);
    let mut parts: Vec<String> = Vec::new();
    for part in losses.chain(branch.heat.iter().map(|item| &item.place)) {
        if !parts.contains(part) {
            parts.push(part.clone());
        }
    }
    parts
}

fn loss_label(shared: &Shared, branch: usize, item: &LossItem) -> String {
    let part = shared.name(branch, &item.part);
    if item.what.is_empty() { part } else { format!("{part}: {}", item.what) }
}

/// The cause, with the common name of the part that it names.
fn heat_label(shared: &Shared, branch: usize, item: &HeatItem) -> String {
    match item.cause.strip_prefix(item.place.as_str()) {
        Some(rest) => format!("{}{rest}", shared.name(branch, &item.place)),
        None => item.cause.clone(),
    }
}

/// Where `label` first stands in the list of each branch.
fn places(labels: &[Vec<String>], label: &str) -> Vec<Option<usize>> {
    labels.iter().map(|labels| labels.iter().position(|other| other == label)).collect()
}

fn loss_row(branches: &[BranchSummary], labels: &[Vec<String>], label: String) -> Booked {
    let places = places(labels, &label);
    let found: Vec<Option<&LossItem>> =
        branches.iter().zip(&places).map(|(branch, place)| place.map(|place| &branch.losses[place])).collect();
    let mut basis = Vec::new();
    for item in found.iter().flatten() {
        let text = short_basis(item);
        if !basis.contains(&text) {
            basis.push(text);
        }
    }
    Booked {
        label,
        places,
        values: found.iter().map(|item| item.map(|item| item.lost)).collect(),
        shares: found.iter().map(|item| item.map(|item| item.share)).collect(),
        basis,
    }
}

/// Where a loss comes from, as short as the reader needs it; `check` and the machine forms tell the whole.
fn short_basis(item: &LossItem) -> String {
    match item.basis.as_str() {
        "handbook" if item.source.ends_with(CLOSE) => format!("handbook{CLOSE}"),
        word @ ("handbook" | "solved") => word.to_owned(),
        word => format!("{word} {}", item.source),
    }
}

/// One cause may warm the air in several places; its line is the sum.
fn heat_row(branches: &[BranchSummary], labels: &[Vec<String>], label: String) -> Booked {
    let sum = |(branch, labels): (&BranchSummary, &Vec<String>)| {
        let rises = branch.heat.iter().zip(labels).filter(|(_, other)| **other == label).map(|(item, _)| item.rise);
        rises.fold(None, |sum, rise| Some(sum.unwrap_or(0.0) + rise))
    };
    let values: Vec<Option<f64>> = branches.iter().zip(labels).map(sum).collect();
    let shares = values.iter().zip(branches).map(|(value, branch)| value.map(|value| value / branch.rise)).collect();
    Booked { places: places(labels, &label), label, values, shares, basis: Vec::new() }
}
