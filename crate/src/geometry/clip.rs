//! What of a straight line lies in a box.

use glam::DVec2;

/// From and to which share of the way from `a` to `b` a line lies in the upright box from `low` to `high`, its edge counted
/// in; `None` where it passes the box by (Liang & Barsky, ACM Transactions on Graphics 3, 1984).
#[must_use]
pub fn shares_inside(a: DVec2, b: DVec2, (low, high): (DVec2, DVec2)) -> Option<(f64, f64)> {
    let way = b - a;
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let walls = [(-way[axis], a[axis] - low[axis]), (way[axis], high[axis] - a[axis])];
        for (speed, room) in walls {
            if speed == 0.0 {
                if room < 0.0 {
                    return None;
                }
            } else if speed < 0.0 {
                from = from.max(room / speed);
            } else {
                to = to.min(room / speed);
            }
        }
    }
    (from <= to).then_some((from, to))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a level line from 1 before the unit box to 1 behind it is in it for its middle third; along an edge it is
    /// in; beside the box it is not, nor short of it.
    #[test]
    fn a_line_is_in_a_box_for_as_long_as_by_hand() {
        let unit = (DVec2::ZERO, DVec2::ONE);
        let share = |a: [f64; 2], b: [f64; 2]| shares_inside(a.into(), b.into(), unit);
        let (from, to) = share([-1.0, 0.5], [2.0, 0.5]).expect("it goes through");
        assert!((from - 1.0 / 3.0).abs() < 1e-12 && (to - 2.0 / 3.0).abs() < 1e-12);
        assert_eq!(share([0.0, 1.0], [1.0, 1.0]), Some((0.0, 1.0)));
        assert_eq!(share([-1.0, 2.0], [2.0, 2.0]), None);
        assert_eq!(share([-2.0, 0.5], [-1.0, 0.5]), None);
    }
}
