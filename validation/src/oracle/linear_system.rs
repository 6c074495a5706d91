//! Linear equations with complex coefficients.

use num_complex::Complex64;

/// Solution of `rows` x = `right`, by Gaussian elimination with the largest pivot; `None` when the rows depend on each other.
#[must_use]
pub fn solve<const N: usize>(mut rows: [[Complex64; N]; N], mut right: [Complex64; N]) -> Option<[Complex64; N]> {
    for column in 0..N {
        let size = |row: &usize| rows[*row][column].norm();
        let pivot = (column..N).max_by(|one, other| size(one).total_cmp(&size(other)))?;
        rows.swap(column, pivot);
        right.swap(column, pivot);
        let (known, value) = (rows[column], right[column]);
        if known[column].norm() <= 0.0 {
            return None;
        }
        for (row, right) in rows.iter_mut().zip(&mut right).skip(column + 1) {
            let factor = row[column] / known[column];
            row.iter_mut().zip(known).for_each(|(entry, known)| *entry -= factor * known);
            *right -= factor * value;
        }
    }
    for row in (0..N).rev() {
        let known: Complex64 = (row + 1..N).map(|k| rows[row][k] * right[k]).sum();
        right[row] = (right[row] - known) / rows[row][row];
    }
    Some(right)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_solution_is_found_and_dependence_told() {
        let c = Complex64::new;
        let rows = [
            [c(0.0, 0.0), c(2.0, 1.0), c(0.0, 0.0)],
            [c(1.0, 0.0), c(0.0, 3.0), c(1.0, 0.0)],
            [c(4.0, 0.0), c(1.0, 0.0), c(0.0, -1.0)],
        ];
        let expected = [c(1.0, -2.0), c(0.5, 0.25), c(-3.0, 1.0)];
        let right = rows.map(|row| row.iter().zip(expected).map(|(a, x)| a * x).sum());
        for (found, expected) in solve(rows, right).unwrap().iter().zip(expected) {
            assert!((found - expected).norm() < 1e-14);
        }
        assert!(solve([[c(1.0, 0.0), c(2.0, 0.0)], [c(2.0, 0.0), c(4.0, 0.0)]], [c(1.0, 0.0); 2]).is_none());
    }
}
