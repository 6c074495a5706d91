//! Pictures as SVG text, and as PNG from the same text.

mod air;
pub(crate) mod axis;
pub(crate) mod bars;
mod branches;
mod compressor;
mod curves;
pub(crate) mod drawing;
mod driven;
mod ends;
pub(crate) mod filter_life;
pub(crate) mod front;
mod heat;
pub(crate) mod over_speed;
pub(crate) mod overlay;
pub(crate) mod palette;
mod panels;
mod path;
pub(crate) mod plot;
pub(crate) mod power;
mod response;
mod roll_on;
mod shade;
pub(crate) mod shares;
mod soak;
pub(crate) mod spectrum;
mod stretches;
pub(crate) mod surface;
#[cfg(test)]
mod tests;
mod thin;
pub(crate) mod tornado;
mod values;
mod warmth;
pub(crate) mod waves;
pub(crate) mod view;
mod waterfall;

use crate::failure::Failure;
use crate::opened::Opened;
use tractwright::ledger::BranchSummary;

/// Fonts that the text asks for, in turn.
pub(crate) const FONTS: &str = "system-ui, 'DejaVu Sans', sans-serif";
/// Pixels of a PNG for one of the SVG: sharp on a dense screen and in print.
const PNG_SCALE: f32 = 2.0;

/// Total pressure [Pa] over the distance [m] along the path of a branch, where it is known.
///
/// # Errors
/// The file cannot be read.
pub(crate) fn path_of(opened: &Opened, branch: &BranchSummary) -> Result<Vec<(f64, f64)>, Failure> {
    let path = path::Path::of(opened, branch)?;
    Ok(path.places.iter().map(|place| (place.at, place.total_pressure)).collect())
}

/// Text that may stand in SVG.
pub(crate) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// A text of a colour at a place [px].
fn coloured(x: f64, y: f64, anchor: &str, colour: &str, words: &str) -> String {
    format!("<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" fill=\"{colour}\">{}</text>\n", escaped(words))
}

/// A straight line between two places [px].
fn straight(from: [f64; 2], to: [f64; 2], colour: &str) -> String {
    let ([x, y], [a, b]) = (from, to);
    format!("<path d=\"M{x:.1} {y:.1}L{a:.1} {b:.1}\" stroke=\"{colour}\"/>\n")
}

/// The end of an element `name` that tells `words` when it is pointed at.
fn told(words: &str, name: &str) -> String {
    if words.is_empty() { "/>".to_owned() } else { format!("><title>{}</title></{name}>", escaped(words)) }
}

/// A PNG of `svg`, with the fonts of the system.
///
/// # Errors
/// There is no font, or the picture has no size.
pub(crate) fn png(svg: &str) -> Result<Vec<u8>, Failure> {
    let mut options = resvg::usvg::Options::default();
    options.fontdb_mut().load_system_fonts();
    if options.fontdb.is_empty() {
        let message = "found no font for the text of a PNG, expected one (Debian: `apt-get install fonts-dejavu-core`); \
                       an SVG needs none";
        return Err(Failure::file(message));
    }
    // Where the families that the text asks for are missing, any font is better than none.
    let any = options.fontdb.faces().find_map(|face| face.families.first().map(|family| family.0.clone()));
    if let Some(family) = any {
        options.fontdb_mut().set_sans_serif_family(family.clone());
        options.font_family = family;
    }
    let tree = resvg::usvg::Tree::from_str(svg, &options).map_err(|error| Failure::file(error.to_string()))?;
    let size = tree.size();
    let (width, height) = ((PNG_SCALE * size.width()).ceil() as u32, (PNG_SCALE * size.height()).ceil() as u32);
    let mut pixels = resvg::tiny_skia::Pixmap::new(width, height)
        .ok_or_else(|| Failure::file(format!("found a picture of {width} by {height} pixels, expected some")))?;
    resvg::render(&tree, resvg::tiny_skia::Transform::from_scale(PNG_SCALE, PNG_SCALE), &mut pixels.as_mut());
    pixels.encode_png().map_err(|error| Failure::file(error.to_string()))
}
