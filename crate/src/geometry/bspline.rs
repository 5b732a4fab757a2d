//! Rational B-spline curves and surfaces, with homogeneous control points.
//!
//! Evaluation follows the basis-function recurrence of Piegl & Tiller, *The NURBS Book*
//! (algorithms A2.1 to A2.3), written for degrees up to [`MAX_DEGREE`].

use glam::{DVec2, DVec3, DVec4, Vec4Swizzles};

/// Highest degree the fixed-size basis buffers hold.
const MAX_DEGREE: usize = 3;

/// Values and first derivatives of the non-zero basis functions at one parameter.
struct Basis {
    /// Index of the first control point these functions weigh.
    first: usize,
    value: [f64; MAX_DEGREE + 1],
    slope: [f64; MAX_DEGREE + 1],
}

/// Degree and full knot vector of one parameter direction.
#[derive(Clone, Debug, PartialEq)]
pub struct Knots {
    degree: usize,
    knots: Vec<f64>,
}

impl Knots {
    /// Clamped knots with every interior break of multiplicity two: the knots of a
    /// C1 chain of cubics, one for each pair of neighbouring breaks.
    pub fn cubic_chain(breaks: &[f64]) -> Self {
        let mut knots = Vec::with_capacity(2 * breaks.len() + 4);
        let (first, last) = ends(breaks);
        knots.extend([first; 4]);
        for &inner in breaks.iter().skip(1).take(breaks.len().saturating_sub(2)) {
            knots.extend([inner; 2]);
        }
        knots.extend([last; 4]);
        Self { degree: 3, knots }
    }

    /// One span on [0, 1] of the given degree.
    pub fn single_span(degree: usize) -> Self {
        let degree = degree.clamp(1, MAX_DEGREE);
        let mut knots = vec![0.0; degree + 1];
        knots.resize(2 * (degree + 1), 1.0);
        Self { degree, knots }
    }

    /// Two quadratic spans on [0, 1], as two rational arcs end to end ask for.
    pub fn two_arcs() -> Self {
        Self { degree: 2, knots: vec![0.0, 0.0, 0.0, 0.5, 0.5, 1.0, 1.0, 1.0] }
    }

    pub fn degree(&self) -> usize {
        self.degree
    }

    /// Number of control points these knots ask for.
    pub fn control_count(&self) -> usize {
        self.knots.len() - self.degree - 1
    }

    /// First and last parameter.
    pub fn range(&self) -> (f64, f64) {
        ends(&self.knots)
    }

    /// Distinct knot values in rising order.
    pub fn breaks(&self) -> Vec<f64> {
        let mut breaks = self.knots.clone();
        breaks.dedup();
        breaks
    }

    /// Parameters to look for a first guess at: the breaks, with a few more where they are far apart.
    fn coarse(&self) -> Vec<f64> {
        let breaks = self.breaks();
        let parts: u32 = if breaks.len() < 4 { 8 } else { 1 };
        let mut out: Vec<f64> = breaks
            .windows(2)
            .flat_map(|pair| {
                let (a, b) = (pair[0], pair[1]);
                (0..parts).map(move |k| a + (b - a) * f64::from(k) / f64::from(parts))
            })
            .collect();
        out.extend(breaks.last());
        out
    }

    /// Distinct knots with their multiplicities, as STEP wants them.
    pub fn multiplicities(&self) -> Vec<(f64, usize)> {
        let mut out: Vec<(f64, usize)> = Vec::new();
        for &knot in &self.knots {
            match out.last_mut() {
                Some((value, count)) if *value == knot => *count += 1,
                _ => out.push((knot, 1)),
            }
        }
        out
    }

    fn basis(&self, t: f64) -> Basis {
        let p = self.degree;
        let count = self.control_count();
        let (low, high) = self.range();
        let t = t.clamp(low, high);
        let span = self.knots[p + 1..count].partition_point(|&k| k <= t) + p;
        let mut value = [0.0; MAX_DEGREE + 1];
        let mut slope = [0.0; MAX_DEGREE + 1];
        let mut left = [0.0; MAX_DEGREE + 1];
        let mut right = [0.0; MAX_DEGREE + 1];
        value[0] = 1.0;
        for j in 1..=p {
            left[j] = t - self.knots[span + 1 - j];
            right[j] = self.knots[span + j] - t;
            let mut saved = 0.0;
            for r in 0..j {
                let term = value[r] / (right[r + 1] + left[j - r]);
                if j == p {
                    // The same quotients of the functions one degree lower make the slopes.
                    slope[r] -= term * p as f64;
                    slope[r + 1] += term * p as f64;
                }
                value[r] = saved + right[r + 1] * term;
                saved = left[j - r] * term;
            }
            value[j] = saved;
        }
        Basis { first: span - p, value, slope }
    }
}

fn ends(values: &[f64]) -> (f64, f64) {
    (values.first().copied().unwrap_or(0.0), values.last().copied().unwrap_or(1.0))
}

/// Turns a homogeneous point and its derivative into a point and its derivative.
fn project(point: DVec4, slope: DVec4) -> (DVec3, DVec3) {
    let place = point.xyz() / point.w;
    (place, (slope.xyz() - place * slope.w) / point.w)
}

/// A rational B-spline curve; control points are `(w x, w y, w z, w)`.
#[derive(Clone, Debug, PartialEq)]
pub struct SplineCurve {
    pub knots: Knots,
    pub control: Vec<DVec4>,
}

impl SplineCurve {
    /// C1 chain of cubics through points with given derivatives: `(t, point, derivative)`.
    pub fn through(nodes: &[(f64, DVec3, DVec3)]) -> Self {
        let homogeneous: Vec<_> = nodes
            .iter()
            .map(|&(t, point, slope)| (t, point.extend(1.0), slope.extend(0.0)))
            .collect();
        let breaks: Vec<f64> = nodes.iter().map(|node| node.0).collect();
        Self { knots: Knots::cubic_chain(&breaks), control: chain_control(&homogeneous) }
    }

    /// Point at a parameter.
    pub fn point(&self, t: f64) -> DVec3 {
        let basis = self.knots.basis(t);
        let weighed = (0..=self.knots.degree)
            .fold(DVec4::ZERO, |sum, r| sum + self.control[basis.first + r] * basis.value[r]);
        weighed.xyz() / weighed.w
    }

    /// Point and first derivative at a parameter.
    pub fn point_slope(&self, t: f64) -> (DVec3, DVec3) {
        let basis = self.knots.basis(t);
        let mut point = DVec4::ZERO;
        let mut slope = DVec4::ZERO;
        for r in 0..=self.knots.degree {
            let control = self.control[basis.first + r];
            point += control * basis.value[r];
            slope += control * basis.slope[r];
        }
        project(point, slope)
    }
}

/// Control points of the C1 cubic chain through `(t, value, derivative)` nodes.
///
/// With interior knots doubled, the two control points beside a node lie on its tangent,
/// one third of the neighbouring span away.
pub fn chain_control(nodes: &[(f64, DVec4, DVec4)]) -> Vec<DVec4> {
    let mut control = Vec::with_capacity(2 * nodes.len());
    for (index, &(t, value, slope)) in nodes.iter().enumerate() {
        if index == 0 {
            control.push(value);
        } else if let Some(before) = nodes.get(index - 1) {
            control.push(value - slope * ((t - before.0) / 3.0));
        }
        match nodes.get(index + 1) {
            Some(after) => control.push(value + slope * ((after.0 - t) / 3.0)),
            None => control.push(value),
        }
    }
    control
}

/// A rational B-spline surface; control point `(i, j)` stands at `i * v_count + j`.
#[derive(Clone, Debug, PartialEq)]
pub struct SplineSurface {
    pub u_knots: Knots,
    pub v_knots: Knots,
    pub control: Vec<DVec4>,
}

impl SplineSurface {
    /// Point at `(u, v)`, to the last bit that of [`Self::point_slopes`].
    pub fn point(&self, uv: DVec2) -> DVec3 {
        let u = self.u_knots.basis(uv.x);
        let v = self.v_knots.basis(uv.y);
        let columns = self.v_knots.control_count();
        let mut point = DVec4::ZERO;
        for i in 0..=self.u_knots.degree {
            let start = (u.first + i) * columns + v.first;
            let mut row = DVec4::ZERO;
            for j in 0..=self.v_knots.degree {
                row += self.control[start + j] * v.value[j];
            }
            point += row * u.value[i];
        }
        point.xyz() / point.w
    }

    /// Point and both first derivatives at `(u, v)`.
    pub fn point_slopes(&self, uv: DVec2) -> (DVec3, DVec3, DVec3) {
        let u = self.u_knots.basis(uv.x);
        let v = self.v_knots.basis(uv.y);
        let columns = self.v_knots.control_count();
        let mut point = DVec4::ZERO;
        let mut slope_u = DVec4::ZERO;
        let mut slope_v = DVec4::ZERO;
        for i in 0..=self.u_knots.degree {
            let start = (u.first + i) * columns + v.first;
            let mut row = DVec4::ZERO;
            let mut row_slope = DVec4::ZERO;
            for j in 0..=self.v_knots.degree {
                let control = self.control[start + j];
                row += control * v.value[j];
                row_slope += control * v.slope[j];
            }
            point += row * u.value[i];
            slope_u += row * u.slope[i];
            slope_v += row_slope * u.value[i];
        }
        let (place, along_u) = project(point, slope_u);
        let (_, along_v) = project(point, slope_v);
        (place, along_u, along_v)
    }

    /// Parameters of the surface point nearest to `point`, by Gauss-Newton from `guess`,
    /// held inside the surface's range. For points on the surface it converges quadratically.
    pub fn nearest(&self, point: DVec3, guess: DVec2) -> DVec2 {
        let (u0, u1) = self.u_knots.range();
        let (v0, v1) = self.v_knots.range();
        let low = DVec2::new(u0, v0);
        let high = DVec2::new(u1, v1);
        let mut uv = guess.clamp(low, high);
        for _ in 0..30 {
            let (place, su, sv) = self.point_slopes(uv);
            let miss = point - place;
            let (a, b, c) = (su.dot(su), su.dot(sv), sv.dot(sv));
            let (p, q) = (su.dot(miss), sv.dot(miss));
            let determinant = a * c - b * b;
            if determinant <= 1e-24 {
                break;
            }
            let step = DVec2::new((c * p - b * q) / determinant, (a * q - b * p) / determinant);
            let next = (uv + step).clamp(low, high);
            let moved = next - uv;
            uv = next;
            if moved.x * moved.x * a + moved.y * moved.y * c < 1e-26 {
                break;
            }
        }
        uv
    }

    /// Parameters of the surface point nearest to `point`, from the best of a coarse grid.
    pub fn nearest_from_grid(&self, point: DVec3) -> DVec2 {
        let (us, vs) = (self.u_knots.coarse(), self.v_knots.coarse());
        let mut best = (f64::INFINITY, DVec2::ZERO);
        for &u in &us {
            for &v in &vs {
                let uv = DVec2::new(u, v);
                let square = self.point(uv).distance_squared(point);
                if square < best.0 {
                    best = (square, uv);
                }
            }
        }
        self.nearest(point, best.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chain_meets_its_nodes_with_their_slopes() {
        // A cubic polynomial is its own chain: x = t^3, y = t^2, z = t.
        let node =
            |t: f64| (t, DVec3::new(t * t * t, t * t, t), DVec3::new(3.0 * t * t, 2.0 * t, 1.0));
        let curve = SplineCurve::through(&[node(0.0), node(0.7), node(2.0)]);
        for t in [0.0, 0.3, 0.7, 1.1, 1.9, 2.0] {
            let (point, slope) = curve.point_slope(t);
            assert!(point.distance(node(t).1) < 1e-12);
            assert!(slope.distance(node(t).2) < 1e-12);
        }
    }

    /// What looks for a point and what looks for its slopes must speak of the same point, bit for bit: a corner is made by
    /// one and found again by the other.
    #[test]
    fn a_point_is_that_of_its_slopes_to_the_last_bit() {
        let wave = |i: usize| libm::sin(1.7 * i as f64 + 0.3);
        let control = |i: usize| DVec3::new(wave(i), wave(i + 40), wave(3 * i)).extend(1.0);
        // Weights of their own, as rational arcs have.
        let weighed = |i: usize| control(i) * (1.0 + 0.4 * wave(7 * i));
        let arcs = Knots::two_arcs();
        let chain = Knots::cubic_chain(&[0.0, 0.7, 1.1, 3.0]);
        for (u_knots, v_knots) in
            [(&arcs, &chain), (&chain, &Knots::single_span(1)), (&arcs, &arcs)]
        {
            let count = u_knots.control_count() * v_knots.control_count();
            let (u_knots, v_knots) = (u_knots.clone(), v_knots.clone());
            let ((u0, u1), (v0, v1)) = (u_knots.range(), v_knots.range());
            let surface =
                SplineSurface { u_knots, v_knots, control: (0..count).map(weighed).collect() };
            for i in 0..=70 {
                let (u, v) = (f64::from(i) / 70.0, f64::from(i * 29 % 71) / 70.0);
                let uv = DVec2::new(u0 + (u1 - u0) * u, v0 + (v1 - v0) * v);
                assert_eq!(surface.point(uv), surface.point_slopes(uv).0, "{uv}");
            }
        }
        for knots in [arcs, chain] {
            let control = (0..knots.control_count()).map(weighed).collect();
            let end = knots.range().1;
            let curve = SplineCurve { knots, control };
            for i in 0..=70 {
                let t = end * f64::from(i) / 70.0;
                assert_eq!(curve.point(t), curve.point_slope(t).0, "{t}");
            }
        }
    }
}
