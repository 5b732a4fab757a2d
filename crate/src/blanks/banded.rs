//! Solving a symmetric system whose entries lie in a band about the diagonal (Cholesky).
//!
//! Golub & Van Loan, "Matrix Computations", 4th ed., section 4.3.5.

/// A symmetric matrix with a band: row `i` holds the entries of columns `i - width` to `i`.
#[derive(Clone, Debug)]
pub struct Banded {
    width: usize,
    rows: usize,
    entries: Vec<f64>,
}

impl Banded {
    /// Zeros, `width` entries beside the diagonal.
    #[must_use]
    pub fn new(rows: usize, width: usize) -> Self {
        Self { width, rows, entries: vec![0.0; rows * (width + 1)] }
    }

    /// Adds to the entry of a row and a column, either way round. What lies outside the band is left out:
    /// whoever fills the matrix chooses the width.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        let (row, column) = if row >= column { (row, column) } else { (column, row) };
        debug_assert!(row - column <= self.width, "outside the band");
        if let Some(entry) =
            self.entries.get_mut(row * (self.width + 1) + self.width + column - row)
        {
            *entry += value;
        }
    }

    /// Makes a row hold its unknown at 0.
    pub fn hold(&mut self, row: usize) {
        let width = self.width;
        for step in 0..=width {
            if step <= row {
                self.entries[row * (width + 1) + width - step] = 0.0;
            }
            if row + step < self.rows {
                self.entries[(row + step) * (width + 1) + width - step] = 0.0;
            }
        }
        self.entries[row * (width + 1) + width] = 1.0;
    }

    /// Solves the system for a right-hand side; `None` if the matrix is not positive definite.
    #[must_use]
    pub fn solve(mut self, mut right: Vec<f64>) -> Option<Vec<f64>> {
        let (width, stride) = (self.width, self.width + 1);
        for row in 0..self.rows {
            let first = row.saturating_sub(width);
            for column in first..=row {
                let from = first.max(column.saturating_sub(width));
                // Rows of the band lie one after the other, so both are read straight on.
                let own = &self.entries[row * stride + width + from - row..][..column - from];
                let other =
                    &self.entries[column * stride + width + from - column..][..column - from];
                let sum: f64 = own.iter().zip(other).map(|(a, b)| a * b).sum();
                let left = self.entries[row * stride + width + column - row] - sum;
                self.entries[row * stride + width + column - row] = if column == row {
                    // What is no number is not positive either.
                    if left.is_nan() || left <= 0.0 {
                        return None;
                    }
                    left.sqrt()
                } else {
                    left / self.entries[column * stride + width]
                };
            }
        }
        for row in 0..self.rows {
            let first = row.saturating_sub(width);
            let factors = &self.entries[row * stride + width + first - row..][..row - first];
            let sum: f64 = factors.iter().zip(&right[first..row]).map(|(a, b)| a * b).sum();
            right[row] = (right[row] - sum) / self.entries[row * stride + width];
        }
        for row in (0..self.rows).rev() {
            right[row] /= self.entries[row * stride + width];
            let (value, first) = (right[row], row.saturating_sub(width));
            let factors = &self.entries[row * stride + width + first - row..][..row - first];
            for (right, factor) in right[first..row].iter_mut().zip(factors) {
                *right -= factor * value;
            }
        }
        Some(right)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A chain of springs between two walls, each of stiffness 1, pulled by 1 at the third of five nodes:
    /// forces divide as the lengths, so the nodes move by 1/2, 1, 3/2, 1, 1/2.
    #[test]
    fn a_chain_of_springs_moves_as_statics_say() {
        let mut chain = Banded::new(5, 1);
        for node in 0..5 {
            chain.add(node, node, 2.0);
            if node > 0 {
                chain.add(node - 1, node, -1.0);
            }
        }
        let moved = chain.clone().solve(vec![0.0, 0.0, 1.0, 0.0, 0.0]).expect("stiff");
        for (got, want) in moved.iter().zip([0.5, 1.0, 1.5, 1.0, 0.5]) {
            assert!((got - want).abs() < 1e-14, "{moved:?}");
        }
        chain.hold(1);
        let held = chain.solve(vec![0.0, 0.0, 1.0, 0.0, 0.0]).expect("stiff");
        assert_eq!(held[1], 0.0);
        // Nodes 2, 3, 4 between walls at 1 and 5: 3/4 of the pull goes to the nearer wall.
        assert!((held[2] - 0.75).abs() < 1e-14 && (held[4] - 0.25).abs() < 1e-14, "{held:?}");
    }

    #[test]
    fn what_has_no_stiffness_is_not_solved() {
        assert!(Banded::new(3, 1).solve(vec![1.0; 3]).is_none());
    }
}
