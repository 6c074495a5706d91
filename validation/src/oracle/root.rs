//! Roots of one equation by halving an interval: slow, and never wrong.

/// Root of `function` between `low` and `high`, to the last bit that the interval can be halved to.
///
/// `None` when the function has the same sign at both ends.
#[must_use]
pub fn bisect(low: f64, high: f64, function: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut low, mut high) = (low, high);
    let rises = function(high) >= 0.0;
    if (function(low) >= 0.0) == rises {
        return if function(low) == 0.0 { Some(low) } else { None };
    }
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return Some(middle);
        }
        if (function(middle) >= 0.0) == rises {
            high = middle;
        } else {
            low = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::bisect;

    #[test]
    fn finds_rising_and_falling_roots() {
        assert!((bisect(0.0, 2.0, |x| x * x - 2.0).unwrap() - 2.0_f64.sqrt()).abs() < 1e-15);
        assert!((bisect(0.0, 2.0, |x| 2.0 - x * x).unwrap() - 2.0_f64.sqrt()).abs() < 1e-15);
    }

    #[test]
    fn refuses_an_interval_without_a_change_of_sign() {
        assert_eq!(bisect(2.0, 3.0, |x| x * x - 2.0), None);
    }
}
