//! What stays of parts that are taken out of a tract.

use super::{map, plain};
use crate::case::Case;
use crate::case::parts::read_part;
use crate::fields::Log;
use crate::flow::End;
use crate::part::{CrossSection, Part};
use crate::yaml::{Content, Entry, Node, Place};

/// Area of an opening so wide that its velocity head does not count: the frame that is left of a filter, a volume that stands open.
const FRAME: &str = "1 m2";
/// Length of a stub over its hydraulic diameter. A wye's law counts all that happens at its branch, so that the stub only has to hold the bore: it is
/// short, and its wall is without friction, so that its length has no say.
const STUB_LENGTH: f64 = 0.1;

/// An opening so wide that its velocity head does not count.
pub(super) fn frame(place: &Place) -> Node {
    let plate = [("kind", "orifice_plate"), ("area", FRAME), ("discharge_coefficient", "1")];
    map(place, plate.map(|(key, text)| (key, plain(place, text))))
}

/// The hole in the wall of a volume: sharp-edged, with the coefficient that an orifice plate has by itself.
pub(super) fn hole(area: f64, place: &Place) -> Node {
    map(place, [("kind", plain(place, "orifice_plate")), ("area", plain(place, format!("{area} m2")))])
}

/// The leg of a wye: straight, without bends, heat, edge or friction, as wide as the duct that stood at it.
pub(super) fn stub(section: CrossSection, place: &Place) -> Node {
    let CrossSection { area, perimeter, .. } = section;
    let bore = map(
        place,
        [
            ("at", plain(place, "0 mm")),
            ("area", plain(place, format!("{area} m2"))),
            ("perimeter", plain(place, format!("{perimeter} m"))),
        ],
    );
    let length = STUB_LENGTH * 4.0 * area / perimeter;
    let sections = Node { place: place.clone(), content: Content::List(vec![bore]) };
    map(
        place,
        [
            ("kind", plain(place, "duct")),
            ("length", plain(place, format!("{length} m"))),
            ("sections", sections),
            ("friction_factor", plain(place, "0")),
        ],
    )
}

/// Section of a duct at one of its ends; none of any other part.
pub(super) fn end_section(case: &Case, part: &Entry, end: End) -> Option<CrossSection> {
    // What is wrong with a part has been noted when the case was read.
    let Part::Duct(duct) = read_part(part, case.kinds, &Log::new())? else { return None };
    let section = if end == End::First { duct.sections.first() } else { duct.sections.last() };
    section.copied()
}

/// Area [m^2] of the passage that a duct has at one of its ends, or a mouth, or a draw with a bore; none of any other part.
pub(super) fn area_at(case: &Case, part: &Entry, end: End) -> Option<f64> {
    match read_part(part, case.kinds, &Log::new())? {
        Part::Duct(_) => end_section(case, part, end).map(|section| section.area),
        Part::Mouth(mouth) => Some(mouth.area),
        Part::Draw(draw) => draw.bore.map(|bore| CrossSection::round(0.0, bore).area),
        _ => None,
    }
}

/// Area [m^2] of the hole that a duct or mouth leaves in the wall of a volume: of a duct the smaller end's; none of a loss.
pub(super) fn hole_area(case: &Case, part: &Entry) -> Option<f64> {
    Some(area_at(case, part, End::First)?.min(area_at(case, part, End::Last)?))
}

pub(super) fn plain_entry(key: &str, text: String, place: &Place) -> Entry {
    Entry { key: key.to_owned(), place: place.clone(), value: plain(place, text) }
}
