//! Names of what the bench adds, which the user's parts may have already.

use crate::yaml::Entry;
use std::collections::BTreeSet;

/// The draw of the bench.
pub(super) const BENCH: &str = "flow_bench";
/// The chamber behind a last part without a section of its own.
pub(super) const CHAMBER: &str = "flow_bench_chamber";
/// The opening by which a first volume stands open to the room.
pub(super) const OPENING: &str = "flow_bench_opening";
/// Walls at what hangs on the span.
pub(super) const PLUG: &str = "flow_bench_plug";
/// What a duct between two wyes leaves at the second.
pub(super) const STUB: &str = "flow_bench_stub";

/// Names that are taken.
pub(super) struct Names(BTreeSet<String>);

impl Names {
    pub(super) fn of(parts: &[Entry]) -> Self {
        Self(parts.iter().map(|part| part.key.clone()).collect())
    }

    /// `wanted`, or with the first number behind it that makes it free; taken from now on.
    pub(super) fn free(&mut self, wanted: &str) -> String {
        let numbered = (2..).map(|number: usize| format!("{wanted}_{number}"));
        let mut candidates = std::iter::once(wanted.to_owned()).chain(numbered);
        let free = candidates.find(|name| !self.0.contains(name)).unwrap_or_default();
        self.0.insert(free.clone());
        free
    }
}
