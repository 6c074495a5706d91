//! Classes of loss, by which layouts of different parts can be compared.

use crate::opened::Opened;
use tractwright::ledger::LossItem;

/// Where in a tract a loss stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Class {
    /// Mouths, scoops, what comes in without ram.
    Mouths,
    /// Seams that leak.
    Leaks,
    /// Ducts and fittings up to the box; up to the filter where there is no box.
    Before,
    /// Jets lost in the box, and what stands between its rooms.
    Box,
    /// Filters.
    Filter,
    /// What stands between box or filter and the draw.
    Tubes,
}

impl Class {
    /// Every class, from the outside to the draw.
    pub(crate) const ALL: [Self; 6] = [Self::Mouths, Self::Leaks, Self::Before, Self::Box, Self::Filter, Self::Tubes];

    /// Words for tables.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Mouths => "mouths",
            Self::Leaks => "leaks",
            Self::Before => "ducts before the box",
            Self::Box => "box",
            Self::Filter => "filter",
            Self::Tubes => "tubes behind the box",
        }
    }

    /// Key for programs.
    pub(crate) fn key(self) -> &'static str {
        match self {
            Self::Mouths => "mouths",
            Self::Leaks => "leaks",
            Self::Before => "ducts_before",
            Self::Box => "box",
            Self::Filter => "filter",
            Self::Tubes => "tubes",
        }
    }

    /// Class of the loss at `place` in the list of a branch, which runs from the outside to the draw.
    pub(crate) fn of(opened: &Opened, losses: &[LossItem], place: usize) -> Self {
        let kind = |item: &LossItem| opened.reading.case.as_written(&format!("parts.{}.kind", item.part)).unwrap_or("");
        let boxes = |item: &LossItem| kind(item) == "plenum";
        let item = &losses[place];
        match (kind(item), item.what.as_str()) {
            (_, "mouth" | "no ram" | "fed in") => return Self::Mouths,
            ("gap", _) => return Self::Leaks,
            ("filter", _) => return Self::Filter,
            ("plenum", _) => return Self::Box,
            _ => {}
        }
        match Self::in_line(opened, &item.part) {
            (false, true) => return Self::Before,
            (true, true) => return Self::Box,
            // The line ends at this part, or no box stands on it: the order of the losses tells.
            _ => {}
        }
        let first = losses.iter().position(boxes);
        let last = losses.iter().rposition(boxes).or_else(|| losses.iter().rposition(|item| kind(item) == "filter"));
        match (first, last) {
            (Some(first), Some(last)) if first < place && place < last => Self::Box,
            (_, Some(last)) if place < last => Self::Before,
            _ => Self::Tubes,
        }
    }

    /// Whether a box stands before and behind `part` in its flow line.
    fn in_line(opened: &Opened, part: &str) -> (bool, bool) {
        let case = &opened.reading.case;
        let boxes = |name: &str| case.as_written(&format!("parts.{name}.kind")) == Some("plenum");
        let place = |line: &tractwright::case::FlowLine| line.stops.iter().position(|stop| stop.part == part);
        let Some((line, place)) = case.flow.iter().find_map(|line| Some((line, place(line)?))) else {
            return (false, false);
        };
        let (before, behind) = line.stops.split_at(place);
        (before.iter().any(|stop| boxes(&stop.part)), behind.iter().any(|stop| boxes(&stop.part)))
    }
}
