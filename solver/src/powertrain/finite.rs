//! Tests that all laws of this module share: finite values and slopes, no jumps.

/// Asserts that `law` is finite over `range`, and that its values join: halving the step of a fine scan halves the largest change.
pub(super) fn is_smooth(name: &str, range: [f64; 2], law: impl Fn(f64) -> f64) {
    const STEPS: u32 = 20_000;
    let at = |step: u32, steps: u32| law(range[0] + (range[1] - range[0]) * f64::from(step) / f64::from(steps));
    let largest = |steps: u32| {
        let change = |step| {
            let change = (at(step + 1, steps) - at(step, steps)).abs();
            assert!(change.is_finite(), "{name}: not finite near step {step} of {steps}");
            change
        };
        (0..steps).map(change).fold(0.0, f64::max)
    };
    let (coarse, fine) = (largest(STEPS), largest(2 * STEPS));
    assert!(fine <= 0.6 * coarse + 1e-14, "{name}: a jump, {coarse:e} then {fine:e}");
}

/// Asserts that `law` falls over `range`, each of 2000 steps.
pub(super) fn falls(name: &str, range: [f64; 2], law: impl Fn(f64) -> f64) {
    let mut last = f64::INFINITY;
    for step in 0..=2000 {
        let x = range[0] + (range[1] - range[0]) * f64::from(step) / 2000.0;
        let value = law(x);
        assert!(value < last, "{name}: {value} after {last} at {x}");
        last = value;
    }
}
