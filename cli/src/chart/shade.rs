//! Shades of one hue for values between a least and a largest: the darker the more.

/// Colours of the least and of the largest value.
const PALE: [f64; 3] = [235.0, 243.0, 251.0];
const DEEP: [f64; 3] = [8.0, 48.0, 107.0];
/// Steps of a bar.
const STEPS: usize = 24;

/// Red, green and blue of a share of the way.
pub(super) fn colour(share: f64) -> [u8; 3] {
    std::array::from_fn(|k| (PALE[k] + share.clamp(0.0, 1.0) * (DEEP[k] - PALE[k])).round() as u8)
}

/// The same as SVG has it.
pub(super) fn rgb(share: f64) -> String {
    let [red, green, blue] = colour(share);
    format!("rgb({red},{green},{blue})")
}

/// A bar of all shades from left to right, from its upper left corner and of a width [px].
pub(super) fn level([x, y]: [f64; 2], width: f64) -> String {
    let step = width / STEPS as f64;
    strip(|k| [x + k as f64 * step, y], [step + 0.2, 10.0])
}

/// A bar of all shades from the largest on top to the least, from its upper left corner and of a height [px].
pub(super) fn upright([x, y]: [f64; 2], height: f64) -> String {
    let step = height / STEPS as f64;
    strip(|k| [x, y + height - (k + 1) as f64 * step], [14.0, step + 0.2])
}

fn strip(place: impl Fn(usize) -> [f64; 2], [width, height]: [f64; 2]) -> String {
    let one = |k: usize| {
        let [x, y] = place(k);
        let shade = rgb(k as f64 / (STEPS - 1) as f64);
        format!("<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" fill=\"{shade}\"/>\n")
    };
    (0..STEPS).map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shades_run_from_pale_to_deep_and_no_further() {
        assert_eq!(
            [colour(-1.0), colour(0.0), colour(1.0), colour(2.0)],
            [[235, 243, 251], [235, 243, 251], [8, 48, 107], [8, 48, 107]]
        );
        assert_eq!(
            (level([0.0, 0.0], 100.0).matches("<rect").count(), upright([0.0, 0.0], 50.0).matches("<rect").count()),
            (24, 24)
        );
    }
}
