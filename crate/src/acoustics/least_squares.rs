//! The least of a quadratic within linear limits.

/// Sweeps over the limits; each brings the worst of them nearer by a part.
const MOST_SWEEPS: usize = 20_000;
/// By how little a limit may still be broken, in its own unit (mm here).
const NEAR: f64 = 1e-9;

/// min ½ xᵀHx − gᵀx under rows c·x ≤ b.
#[derive(Clone, Debug)]
pub struct Quadratic {
    /// Symmetric and positive definite.
    pub matrix: Vec<Vec<f64>>,
    pub linear: Vec<f64>,
    pub limits: Vec<Limit>,
}

/// c·x ≤ b, its coefficients by index.
#[derive(Clone, Debug)]
pub struct Limit {
    pub terms: Vec<(usize, f64)>,
    pub bound: f64,
}

/// Where a quadratic is least.
#[derive(Clone, Debug, PartialEq)]
pub struct Least {
    pub x: Vec<f64>,
    /// Whether the sweeps came to rest; if not, the limits are kept, and a lesser place may exist.
    pub settled: bool,
}

/// Why no least place was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsolved {
    /// The matrix is not definite.
    NotDefinite,
    /// The limits leave no room together, or none that the sweeps came upon.
    NoRoom,
}

impl Quadratic {
    /// The x that is least.
    ///
    /// # Errors
    ///
    /// The matrix is not definite, or no place within the limits was found.
    ///
    /// C. Hildreth, "A quadratic programming procedure", Naval Research Logistics Quarterly 4 (1957) 79-85: each limit has a
    /// multiplier, and one after the other is set so that its limit is just met or its multiplier is nothing.
    pub fn least(&self) -> Result<Least, Unsolved> {
        let factor = cholesky(&self.matrix).ok_or(Unsolved::NotDefinite)?;
        let mut x = solve(&factor, &self.linear);
        // H⁻¹c of each limit, and c·H⁻¹c.
        let pushes: Vec<(Vec<f64>, f64)> = self
            .limits
            .iter()
            .map(|limit| {
                let mut row = vec![0.0; x.len()];
                for &(index, value) in &limit.terms {
                    if let Some(place) = row.get_mut(index) {
                        *place = value;
                    }
                }
                let push = solve(&factor, &row);
                let weight = dot(&row, &push);
                (push, weight)
            })
            .collect();
        let mut multipliers = vec![0.0_f64; self.limits.len()];
        for _ in 0..MOST_SWEEPS {
            let mut worst = 0.0_f64;
            for ((limit, (push, weight)), multiplier) in
                self.limits.iter().zip(&pushes).zip(&mut multipliers)
            {
                let over = limit.over(&x);
                let next = (*multiplier + over / weight).max(0.0);
                let change = next - *multiplier;
                if change != 0.0 {
                    *multiplier = next;
                    for (value, step) in x.iter_mut().zip(push) {
                        *value -= change * step;
                    }
                }
                worst = worst.max((change * weight).abs());
            }
            if worst < NEAR {
                return Ok(Least { x, settled: true });
            }
        }
        let kept = self.limits.iter().all(|limit| limit.over(&x) < 1e-6);
        if kept { Ok(Least { x, settled: false }) } else { Err(Unsolved::NoRoom) }
    }
}

impl Limit {
    /// By how much it is broken; negative where there is room.
    pub fn over(&self, x: &[f64]) -> f64 {
        let sum: f64 =
            self.terms.iter().filter_map(|&(index, value)| x.get(index).map(|x| x * value)).sum();
        sum - self.bound
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Lower triangle L with LLᵀ the matrix; none if it is not definite.
fn cholesky(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let mut lower: Vec<Vec<f64>> = Vec::with_capacity(matrix.len());
    for (i, row) in matrix.iter().enumerate() {
        let mut made: Vec<f64> = Vec::with_capacity(i + 1);
        for (j, &value) in row.iter().enumerate().take(i + 1) {
            if j < i {
                let above = lower.get(j)?;
                made.push((value - dot(&made, above)) / above.get(j)?);
            } else {
                let rest = value - dot(&made, &made);
                if rest.is_nan() || rest <= 0.0 {
                    return None;
                }
                made.push(rest.sqrt());
            }
        }
        lower.push(made);
    }
    Some(lower)
}

/// Solves LLᵀx = b.
fn solve(lower: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let mut x: Vec<f64> = Vec::with_capacity(right.len());
    for (row, &value) in lower.iter().zip(right) {
        let pivot = row.last().copied().unwrap_or(1.0);
        let next = (value - dot(row, &x)) / pivot;
        x.push(next);
    }
    for i in (0..x.len()).rev() {
        let below: f64 = lower
            .iter()
            .zip(&x)
            .skip(i + 1)
            .filter_map(|(row, x)| row.get(i).map(|value| value * x))
            .sum();
        let pivot = lower.get(i).and_then(|row| row.get(i)).copied().unwrap_or(1.0);
        if let Some(value) = x.get_mut(i) {
            *value = (*value - below) / pivot;
        }
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limit(terms: &[(usize, f64)], bound: f64) -> Limit {
        Limit { terms: terms.to_vec(), bound }
    }

    /// By hand: the point of the half-plane x + y ≤ 1 nearest to (2, 3) is (0, 1); with x ≥ 0.5 as well it is (0.5, 0.5).
    #[test]
    fn the_nearest_point_of_a_corner() {
        let mut problem = Quadratic {
            matrix: vec![vec![1.0, 0.0], vec![0.0, 1.0]],
            linear: vec![2.0, 3.0],
            limits: vec![limit(&[(0, 1.0), (1, 1.0)], 1.0)],
        };
        let x = problem.least().unwrap().x;
        assert!(x[0].abs() < 1e-8 && (x[1] - 1.0).abs() < 1e-8, "{x:?}");
        problem.limits.push(limit(&[(0, -1.0)], -0.5));
        let x = problem.least().unwrap().x;
        assert!((x[0] - 0.5).abs() < 1e-8 && (x[1] - 0.5).abs() < 1e-8, "{x:?}");
        // No room: x ≤ 0 and x ≥ 0.5.
        problem.limits.push(limit(&[(0, 1.0)], 0.0));
        assert_eq!(problem.least(), Err(Unsolved::NoRoom));
    }

    /// H = [[4, 2], [2, 3]], g = (2, 5): x = H⁻¹g = (−0.5, 2) by hand.
    #[test]
    fn without_limits_it_is_the_solution_of_the_system() {
        let problem = Quadratic {
            matrix: vec![vec![4.0, 2.0], vec![2.0, 3.0]],
            linear: vec![2.0, 5.0],
            limits: Vec::new(),
        };
        let x = problem.least().unwrap().x;
        assert!((x[0] + 0.5).abs() < 1e-12 && (x[1] - 2.0).abs() < 1e-12);
        let flat = Quadratic { matrix: vec![vec![0.0]], linear: vec![1.0], limits: Vec::new() };
        assert_eq!(flat.least(), Err(Unsolved::NotDefinite));
    }
}
