//! Losses that take their bore from what stands beside them, and keep it when that is out.

use super::remains::{area_at, plain_entry};
use super::span::Span;
use super::text_of;
use crate::case::Case;
use crate::flow::End;
use crate::yaml::{Entry, Node, Place};
use std::f64::consts::PI;

/// Losses that may have no bore of their own.
const BORELESS: [&str; 2] = ["elbow", "screen"];

/// The bore of an elbow or screen that says none and has lost what stood beside it: the narrower of both sides, as its law takes it.
pub(super) fn kept_bore(case: &Case, span: &Span, part: &Entry, place: &Place) -> Option<Entry> {
    let kind = span.kind(&part.key);
    if !BORELESS.contains(&kind) || ["diameter", "area"].iter().any(|key| part.value.get(key).is_some()) {
        return None;
    }
    let is_it = |stop: &Node| text_of(stop) == part.key;
    let (line, at) = span.whole.iter().find_map(|line| Some((line, line.iter().position(is_it)?)))?;
    let is_body = |stop: &&Node| !span.is_loss(text_of(stop));
    let sides =
        [(line[..at].iter().rev().find(is_body), End::Last), (line[at..].iter().skip(1).find(is_body), End::First)];
    let is_out = |stop: &Node| !span.kept.contains(text_of(stop)) || span.removed.contains(text_of(stop));
    if !sides.iter().any(|(stop, _)| stop.is_some_and(is_out)) {
        return None;
    }
    let area = |(stop, end): (Option<&Node>, End)| {
        let part = span.parts.iter().find(|part| Some(part.key.as_str()) == stop.map(text_of))?;
        area_at(case, part, end)
    };
    let area = sides.into_iter().filter_map(area).min_by(f64::total_cmp)?;
    Some(match kind {
        "elbow" => plain_entry("diameter", format!("{} m", (4.0 * area / PI).sqrt()), place),
        _ => plain_entry("area", format!("{area} m2"), place),
    })
}
