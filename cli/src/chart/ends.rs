//! Names beside the ends of curves, pushed apart where they would lie over each other.

/// Where names stand that want to stand at `wanted` [px]: at least `apart` from each other, none below `lowest`, and as
/// near to their wish as that allows.
pub(super) fn apart(wanted: &[f64], apart: f64, lowest: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|a, b| wanted[*a].total_cmp(&wanted[*b]));
    let mut places = wanted.to_vec();
    let mut free_from = f64::NEG_INFINITY;
    for name in &order {
        places[*name] = places[*name].max(free_from);
        free_from = places[*name] + apart;
    }
    // Those pushed over the edge push back.
    let mut free_to = lowest;
    for name in order.iter().rev() {
        places[*name] = places[*name].min(free_to);
        free_to = places[*name] - apart;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::apart;

    #[test]
    fn names_keep_their_distance_their_order_and_the_edge() {
        assert_eq!(apart(&[50.0, 10.0], 16.0, 100.0), [50.0, 10.0]);
        assert_eq!(apart(&[52.0, 50.0, 51.0], 16.0, 200.0), [82.0, 50.0, 66.0]);
        assert_eq!(apart(&[98.0, 99.0, 20.0], 16.0, 100.0), [84.0, 100.0, 20.0]);
        assert!(apart(&[], 16.0, 100.0).is_empty());
    }
}
