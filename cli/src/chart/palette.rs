//! Colours of pictures, for light and for dark pages.
//!
//! A picture of its own is drawn on white with the colours as they stand. On a page each becomes a variable of the style sheet, so that the
//! same picture can be read on a dark screen.

/// Each colour of a picture, and the one that takes its place on a dark page.
const COLOURS: &[(&str, &str)] = &[
    // Paper, text, thin lines.
    ("#ffffff", "#16191d"),
    ("#102a43", "#e6ebf0"),
    ("#334e68", "#cbd5df"),
    ("#486581", "#a9b6c3"),
    ("#9fb3c8", "#5d6b7a"),
    ("#bcccdc", "#4a5663"),
    ("#dfe5eb", "#2b3138"),
    // Results, in shades of one blue.
    ("#08306b", "#cfe3f7"),
    ("#2b7bba", "#7db8e8"),
    ("#7fb2dc", "#4a86b5"),
    ("#dbe9f6", "#22384c"),
    ("#eef4fa", "#1c2a37"),
    // Heat: an orange, and shades of what holds the power.
    ("#b45309", "#f0a55a"),
    ("#fbf4e8", "#2a2419"),
    ("#f5e6cc", "#3d3220"),
    ("#ecd1a6", "#57452a"),
    ("#deb27a", "#775c36"),
    // Gears.
    ("#f6f9fc", "#1d2329"),
    ("#e8eff6", "#262e36"),
    ("#c3d3e3", "#3f4c59"),
    // Causes of warmth, which differ in hue and in lightness.
    ("#d69e2e", "#e3b95c"),
    ("#2f855a", "#5fb58a"),
    ("#805ad5", "#a98bea"),
    ("#9b2c2c", "#d97b7b"),
    ("#68d391", "#8fe3b0"),
    ("#a0aec0", "#718096"),
];

/// `svg` with variables of the style sheet in place of its colours.
pub(crate) fn themed(svg: &str) -> String {
    let mut out = svg.to_owned();
    for (light, _) in COLOURS {
        out = out.replace(&format!("\"{light}\""), &format!("\"var(--{})\"", name(light)));
    }
    out
}

/// The variables: light, and dark where the screen is.
pub(crate) fn style() -> String {
    let all = |of: fn(&(&str, &str)) -> String| COLOURS.iter().map(of).collect::<String>();
    let light = all(|(light, _)| format!("--{}:{light};", name(light)));
    let dark = all(|(light, dark)| format!("--{}:{dark};", name(light)));
    format!(":root{{{light}}}\n@media screen and (prefers-color-scheme: dark){{:root{{{dark}}}}}\n")
}

fn name(light: &str) -> String {
    format!("c{}", &light[1..])
}

/// Colours of `svg` that have none for a dark page.
#[cfg(test)]
pub(super) fn unknown(svg: &str) -> Vec<&str> {
    let quoted = svg.split('"').filter(|text| text.len() == 7 && text.starts_with('#'));
    quoted.filter(|colour| COLOURS.iter().all(|known| known.0 != *colour)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colour_becomes_a_variable_and_a_text_stays() {
        let svg = "<text fill=\"#102a43\">paint it #102a43</text>";
        assert_eq!(themed(svg), "<text fill=\"var(--c102a43)\">paint it #102a43</text>");
        assert!(style().contains("--c102a43:#e6ebf0;"), "{}", style());
        assert_eq!(unknown("<path fill=\"#123456\" stroke=\"#102a43\"/>"), ["#123456"]);
    }
}
