//! Leaves out of a curve what nobody can see.

/// A point of a picture [px].
pub(crate) type Point = (f64, f64);

/// How far a line may be off what it stands for [px].
const INVISIBLE: f64 = 0.25;
/// Dots closer than this run into one another [px].
const APART: f64 = 5.5;

/// Points of a line that looks the same (Ramer, 1972; Douglas and Peucker, 1973).
pub(crate) fn line(points: &[Point]) -> Vec<Point> {
    let [first, .., last] = points else { return points.to_vec() };
    let inner = 1..points.len() - 1;
    let farthest = inner.map(|index| (index, distance(points[index], *first, *last)));
    match farthest.max_by(|one, other| one.1.total_cmp(&other.1)) {
        Some((index, off)) if off > INVISIBLE => {
            let mut kept = line(&points[..=index]);
            kept.pop();
            kept.extend(line(&points[index..]));
            kept
        }
        _ => vec![*first, *last],
    }
}

/// Points of a curve of dots that do not run into one another.
pub(crate) fn dots(points: &[Point]) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for point in points {
        let free = |last: &Point| (point.0 - last.0).hypot(point.1 - last.1) >= APART;
        if kept.last().is_none_or(free) {
            kept.push(*point);
        }
    }
    kept
}

/// Distance of a point from the stretch between two others.
fn distance(point: Point, from: Point, to: Point) -> f64 {
    let (along, up) = (to.0 - from.0, to.1 - from.1);
    let square = along * along + up * up;
    let share = if square > 0.0 { ((point.0 - from.0) * along + (point.1 - from.1) * up) / square } else { 0.0 };
    let share = share.clamp(0.0, 1.0);
    (point.0 - from.0 - share * along).hypot(point.1 - from.1 - share * up)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_stays_and_what_lies_between_goes() {
        let points: Vec<Point> = (0..=200).map(|k| (f64::from(k), f64::from((k - 100).max(0)))).collect();
        assert_eq!(line(&points), [(0.0, 0.0), (100.0, 0.0), (200.0, 100.0)]);
        assert_eq!(line(&points[..1]).len(), 1);
    }

    #[test]
    fn a_dot_that_stands_off_stays() {
        let points: Vec<Point> = (0..100).map(|k| (f64::from(k), if k == 50 { 20.0 } else { 0.0 })).collect();
        let kept = dots(&points);
        assert!(kept.len() < 25 && kept.contains(&(50.0, 20.0)), "{kept:?}");
    }
}
