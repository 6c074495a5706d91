//! Sparse linear systems of one pattern, by the library's LU.

use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Lu, SymbolicLu};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMat};

/// The pattern of a square matrix, with the order of elimination that suits it.
#[derive(Debug)]
pub(super) struct Pattern {
    symbolic: SymbolicSparseColMat<usize>,
    order: SymbolicLu<usize>,
    /// Place of the diagonal among the values of each column.
    pub(super) diagonal: Vec<usize>,
}

/// A matrix in factors.
#[derive(Debug)]
pub(super) struct Factors {
    lu: Lu<usize, f64>,
}

/// A matrix that cannot be solved with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Singular;

impl Pattern {
    /// The pattern with the rising `rows` of each column, among them the diagonal.
    pub(super) fn new(rows: &[Vec<usize>]) -> Result<Self, Singular> {
        let mut starts = vec![0];
        for column in rows {
            starts.push(starts[starts.len() - 1] + column.len());
        }
        let diagonal = rows
            .iter()
            .enumerate()
            .map(|(column, rows)| rows.binary_search(&column).map(|found| starts[column] + found).map_err(|_| Singular))
            .collect::<Result<_, _>>()?;
        let symbolic = SymbolicSparseColMat::new_checked(rows.len(), rows.len(), starts, None, rows.concat());
        let order = SymbolicLu::try_new(symbolic.as_ref()).map_err(|_| Singular)?;
        Ok(Self { symbolic, order, diagonal })
    }

    /// Number of values.
    pub(super) fn len(&self) -> usize {
        self.symbolic.compute_nnz()
    }

    /// Factors of the matrix with these `values`, column by column.
    pub(super) fn factors(&self, values: &[f64]) -> Result<Factors, Singular> {
        if !values.iter().all(|value| value.is_finite()) {
            return Err(Singular);
        }
        let matrix = SparseColMatRef::new(self.symbolic.as_ref(), values);
        Lu::try_new_with_symbolic(self.order.clone(), matrix).map(|lu| Factors { lu }).map_err(|_| Singular)
    }
}

impl Factors {
    /// Replaces the right-hand side by the solution.
    pub(super) fn solve(&self, side: &mut [f64]) -> Result<(), Singular> {
        self.solve_many(side, 1)
    }

    /// The same for `count` right-hand sides, one after another.
    pub(super) fn solve_many(&self, sides: &mut [f64], count: usize) -> Result<(), Singular> {
        let rows = sides.len() / count;
        self.lu.solve_in_place(faer::MatMut::from_column_major_slice_mut(sides, rows, count));
        if sides.iter().all(|value| value.is_finite()) { Ok(()) } else { Err(Singular) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_with_a_band_and_refuses_a_singular_matrix() {
        let n = 50;
        let rows: Vec<Vec<usize>> = (0..n).map(|k: usize| (k.saturating_sub(1)..(k + 2).min(n)).collect()).collect();
        let pattern = Pattern::new(&rows).expect("a diagonal");
        let mut values = vec![-1.0; pattern.len()];
        for place in &pattern.diagonal {
            values[*place] = 2.0;
        }
        // The second difference of this column is zero but at its end.
        let mut side = vec![0.0; n];
        side[n - 1] = 1.0;
        pattern.factors(&values).and_then(|factors| factors.solve(&mut side)).expect("regular");
        for (k, value) in side.iter().enumerate() {
            assert!((value - (k + 1) as f64 / (n + 1) as f64).abs() < 1e-13);
        }
        let singular = pattern.factors(&vec![0.0; pattern.len()]).and_then(|factors| factors.solve(&mut side));
        assert!(singular.is_err());
        assert!(pattern.factors(&vec![f64::NAN; pattern.len()]).is_err());
    }
}
