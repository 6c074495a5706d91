//! A case on a flow bench: the tract, or a span of it, in still air, with a bench in the place of its draws.
//!
//! A [`Span`] is what the air passes, a [`Layout`] how it stands on the bench, and `tree` writes that as a case of its own.

mod bores;
mod jets;
mod layout;
mod lines;
mod names;
mod remains;
mod span;
mod tree;

use super::Case;
use crate::error::CaseError;
use crate::fields::Log;
use crate::yaml::{Content, Entry, Node, Place};
use layout::Layout;
use span::Span;
use std::sync::Arc;

/// The edge by which air enters from the room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BenchEntry {
    /// As the case has it; a duct that is cut off there has its own `inlet`.
    #[default]
    AsIs,
    /// A wide radius, such as modelling clay makes.
    Radiused,
    /// No radius: a thin lip of a mouth, a sharp edge of a duct.
    Sharp,
}

/// What stands on a bench.
#[derive(Debug, Clone, Default)]
pub struct BenchSetup {
    /// Point whose air and changed parts hold; without it those of the case itself.
    pub point: Option<String>,
    /// First part; without it every mouth and all that breathes outside. A plenum stands open to the room.
    pub from: Option<String>,
    /// Last part; without it every draw. A plenum is the settling chamber of the bench.
    pub to: Option<String>,
    /// Edge at the room.
    pub entry: BenchEntry,
    /// Parts that are taken out: what stands before and behind them meets. The leg of a wye keeps its bore as a short stub, the wall of a volume its
    /// hole as a sharp-edged orifice; of a loss between volumes an empty frame stays; a gap is sealed.
    pub removed: Vec<String>,
}

/// A case that is on a bench.
#[derive(Debug)]
pub struct BenchCase {
    /// The case. Its one point is [`super::REST`], its march ends when steady.
    pub case: Case,
    /// Names of the draws that the bench holds at a depression.
    pub draws: Vec<String>,
    /// Whether all air leaves through sections of the tract's own; a volume, or a chamber behind a loss without length, has none.
    pub has_exit: bool,
    /// Mouths, ducts and losses on the bench, in the order of the flow lines.
    pub parts: Vec<String>,
}

impl Case {
    /// This case on a flow bench that holds `depression` [Pa] behind it, the outside pressure less the static pressure behind its last section.
    ///
    /// The air is that of the outside, at rest; walls have its temperature, no engine and no fan runs, and bays are the room. Flow lines are
    /// followed the way they are read, from the first part to the last; a leak that is read out of a volume into the room lets air in. What hangs on the
    /// span besides is plugged.
    ///
    /// # Errors
    /// An unknown point or part, a span without a way through, a part that cannot begin, end or leave it, or an edge that nothing at the room has.
    pub fn on_bench(&self, setup: &BenchSetup, depression: f64) -> Result<BenchCase, CaseError> {
        let log = Log::new();
        if let Some(point) = &setup.point
            && !self.points.iter().any(|known| known.name == *point)
        {
            return Err(self.unknown_point(point));
        }
        let span = Span::of(self, setup, &log);
        if setup.entry != BenchEntry::AsIs
            && let Some(whole) = Span::of(self, &BenchSetup { removed: Vec::new(), ..setup.clone() }, &log)
        {
            // What stays of a part that is taken out has no edge either, but the part had.
            whole.check_entry(self, &log);
        }
        let laid = span.as_ref().and_then(|span| Layout::of(self, span, &log));
        let tree = laid.as_ref().map(|laid| self.bench_tree(laid, setup, depression, &log));
        log.finish()?;
        let (Some(span), Some(laid), Some(tree)) = (&span, &laid, tree) else {
            return Err(CaseError { problems: vec![super::unread(&Arc::from(self.file.as_str()))] });
        };
        let run = map(&self.whole(), [("until", plain(&self.whole(), "steady"))]);
        let case = self.read_anew(tree)?.run_as(&run)?;
        let draws = laid.draws.iter().map(|draw| draw.name.clone()).collect();
        Ok(BenchCase { case, has_exit: laid.has_exit, draws, parts: span.passages() })
    }

    /// Whether all air passes `part` on its way over the bench of this setup.
    ///
    /// # Errors
    /// As for [`Case::on_bench`].
    pub fn bench_air_all_passes(&self, setup: &BenchSetup, part: &str) -> Result<bool, CaseError> {
        let log = Log::new();
        let span = Span::of(self, setup, &log);
        log.finish()?;
        Ok(span.is_some_and(|span| !span.has_way_around(part)))
    }

    /// The file as a whole, where what the bench adds stands.
    fn whole(&self) -> Place {
        Place::whole(&Arc::from(self.file.as_str()))
    }
}

fn plain(place: &Place, text: impl Into<String>) -> Node {
    Node::plain(text, place.clone())
}

fn map<const N: usize>(place: &Place, entries: [(&str, Node); N]) -> Node {
    let entry = |(key, value): (&str, Node)| Entry { key: key.to_owned(), place: place.clone(), value };
    Node { place: place.clone(), content: Content::Map(entries.into_iter().map(entry).collect()) }
}

fn text_of(node: &Node) -> &str {
    node.text().unwrap_or_default()
}

/// The part of a stop, without the leg of a wye.
fn part_of(stop: &Node) -> &str {
    let stop = text_of(stop);
    stop.split_once('.').map_or(stop, |(part, _)| part)
}
