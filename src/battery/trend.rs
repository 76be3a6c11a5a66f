//! A straight course through figures over time, and how far it may be off. A figure that lies far from the course of all
//! others, as a mistyped one does, is left out of it. Knows no cell; whatever units go in come out.

use super::range::median;

/// `error`: within which the truth lies in nineteen cases of twenty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    pub at: f64,
    pub value: f64,
    pub error: f64,
}

/// Fewer could not tell a mistyped one from a change.
pub const FEWEST: usize = 4;
/// Of more the latest count: they tell where it goes now, and the work stays small.
pub const LATEST: usize = 24;
/// Farther from the course than so many times its error, a point is left out.
const FAR: f64 = 1.5;
/// Of so many points at most one.
const ONE_OF: usize = 4;

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// Where the points have their middle, and the value there.
    middle_at: f64,
    level: f64,
    level_error: f64,
    /// Per unit of `at`.
    pub slope: f64,
    pub slope_error: f64,
    /// How far the points lie from the course, as times what their errors allow: about 1 where both fit.
    pub misfit: f64,
    pub left_out: usize,
}

impl Trend {
    /// None through fewer than four points, and where all are of one instant.
    pub fn through(points: &[Point]) -> Option<Self> {
        if points.len() < FEWEST {
            return None;
        }
        let mut points = points.to_vec();
        points.sort_by(|one, other| one.at.total_cmp(&other.at));
        let points = &points[points.len().saturating_sub(LATEST)..];
        let kept = without_far_ones(points)?;
        let weighed = |of: &dyn Fn(&Point) -> f64| {
            let sum: f64 = kept.iter().map(|point| of(point) * weight(point)).sum();
            sum / kept.iter().map(weight).sum::<f64>()
        };
        let (middle_at, level) = (weighed(&|point| point.at), weighed(&|point| point.value));
        let spread = weighed(&|point| (point.at - middle_at).powi(2));
        if spread <= 0.0 {
            return None;
        }
        let slope = weighed(&|point| (point.at - middle_at) * (point.value - level)) / spread;
        let off = |point: &Point| point.value - level - slope * (point.at - middle_at);
        let free = kept.len() as f64 - 2.0;
        // An error is two standard deviations, hence the 4.
        let squares = kept
            .iter()
            .map(|point| 4.0 * weight(point) * off(point).powi(2));
        let misfit = (squares.sum::<f64>() / free).sqrt();
        let level_error = kept.iter().map(weight).sum::<f64>().powf(-0.5);
        let more = (misfit * of_few(free)).max(1.0);
        Some(Self {
            middle_at,
            level,
            level_error: level_error * more,
            slope,
            slope_error: level_error * more / spread.sqrt(),
            misfit,
            left_out: points.len() - kept.len(),
        })
    }

    pub fn value_at(&self, at: f64) -> f64 {
        self.level + self.slope * (at - self.middle_at)
    }

    pub fn error_at(&self, at: f64) -> f64 {
        self.level_error
            .hypot(self.slope_error * (at - self.middle_at))
    }
}

fn weight(point: &Point) -> f64 {
    point.error.max(f64::MIN_POSITIVE.sqrt()).powi(-2)
}

/// Scatter seen in few points may be less than there is: Student's t for 95 % over 2, about, by how many are free.
fn of_few(free: f64) -> f64 {
    0.98 * (1.0 + 1.2 / free + 4.0 / free.powi(3))
}

/// The course that half of all pairs lie above (Theil and Sen) is not moved by one point of four; from it the far ones are
/// seen.
fn without_far_ones(points: &[Point]) -> Option<Vec<Point>> {
    let mut slopes = Vec::new();
    for (index, one) in points.iter().enumerate() {
        let later = points[index + 1..].iter();
        let apart = later.filter(|other| other.at != one.at);
        slopes.extend(apart.map(|other| (other.value - one.value) / (other.at - one.at)));
    }
    let slope = median(&slopes)?;
    let lifted: Vec<f64> = points
        .iter()
        .map(|point| point.value - slope * point.at)
        .collect();
    let level = median(&lifted)?;
    let offs: Vec<f64> = lifted.iter().map(|lifted| (lifted - level).abs()).collect();
    // Where all scatter more than their errors say, none of them is far for that.
    let usual = median(&offs)? * 3.0;
    let mut kept: Vec<(f64, Point)> = offs.into_iter().zip(points.iter().copied()).collect();
    kept.sort_by(|one, other| one.0.total_cmp(&other.0));
    for _ in 0..points.len() / ONE_OF {
        let is_far = |(off, point): &(f64, Point)| *off > (FAR * point.error).max(usual);
        if kept.last().is_some_and(is_far) {
            kept.pop();
        }
    }
    Some(kept.into_iter().map(|(_, point)| point).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn points(values: &[f64]) -> Vec<Point> {
        let point = |(at, value): (usize, &f64)| Point {
            at: at as f64,
            value: *value,
            error: 0.5,
        };
        values.iter().enumerate().map(point).collect()
    }

    #[test]
    fn a_straight_course_is_found_exactly() {
        let trend = Trend::through(&points(&[10.0, 9.0, 8.0, 7.0])).expect("a course");
        assert!((trend.slope + 1.0).abs() < 1e-9 && (trend.value_at(5.0) - 5.0).abs() < 1e-9);
        assert!(trend.misfit < 1e-6 && trend.left_out == 0);
        assert!(
            trend.error_at(9.0) > trend.error_at(3.0),
            "the farther, the less sure"
        );
    }

    #[test]
    fn one_mistyped_figure_does_not_move_the_course_wherever_it_stands() {
        let clean = [10.0, 9.8, 9.6, 9.4, 9.2];
        for index in 0..clean.len() {
            for wrong in [1.0, 98.0] {
                let mut values = clean;
                values[index] = wrong;
                let trend = Trend::through(&points(&values)).expect("a course");
                assert!((trend.slope + 0.2).abs() < 1e-6, "{values:?}: {trend:?}");
                assert_eq!(trend.left_out, 1);
            }
        }
    }

    #[test]
    fn of_many_the_latest_count_in_whatever_order_they_are_given() {
        let bent = |at: f64| if at < 76.0 { 10.0 } else { 10.0 - (at - 76.0) };
        let mut many: Vec<Point> = (0..100_u32)
            .map(|at| Point {
                at: f64::from(at),
                value: bent(f64::from(at)),
                error: 0.5,
            })
            .collect();
        let trend = Trend::through(&many).expect("a course");
        assert!((trend.slope + 1.0).abs() < 1e-9, "{trend:?}");
        many.reverse();
        assert_eq!(Trend::through(&many), Some(trend));
    }

    #[test]
    fn too_few_or_all_at_once_are_no_course() {
        assert_eq!(Trend::through(&points(&[10.0, 9.0, 8.0])), None);
        let at_once = points(&[10.0, 9.0, 8.0, 7.0]).into_iter();
        let at_once: Vec<Point> = at_once.map(|point| Point { at: 3.0, ..point }).collect();
        assert_eq!(Trend::through(&at_once), None);
    }

    #[test]
    fn what_scatters_more_than_its_errors_say_is_told_with_more_doubt() {
        let calm = Trend::through(&points(&[10.0, 10.1, 9.9, 10.0, 10.1])).expect("a course");
        let wild = Trend::through(&points(&[10.0, 12.0, 8.0, 11.5, 9.0])).expect("a course");
        assert!(
            wild.slope_error > 2.0 * calm.slope_error,
            "{calm:?} {wild:?}"
        );
    }

    /// Noise of half the stated error as its standard deviation, three dice thrown together: the true course lies in the
    /// stated range in nineteen cases of twenty.
    #[test]
    fn the_true_course_lies_in_the_stated_range() {
        let mut dice = crate::battery::reference::Dice::new(7);
        let (mut cases, mut held) = (0, 0);
        for round in 0..2_000 {
            let count = 4 + round % 9;
            let slope = dice.between(-3.0, 1.0);
            let point = |at: f64, noise: f64| Point {
                at,
                value: 100.0 + slope * at + noise,
                error: 2.0,
            };
            let points: Vec<Point> = (0..count)
                .map(|at| point(at as f64, (0..3).map(|_| dice.between(-1.0, 1.0)).sum()))
                .collect();
            let trend = Trend::through(&points).expect("a course");
            let at = count as f64 + 3.0;
            let off = trend.value_at(at) - 100.0 - slope * at;
            cases += 1;
            held += usize::from(off.abs() <= trend.error_at(at));
        }
        println!("{held} of {cases} courses held");
        assert!(held * 100 >= cases * 95, "{held} of {cases}");
    }

    proptest! {
        #[test]
        fn any_figures_have_a_finite_course_or_none(values in prop::collection::vec(-1e6_f64..1e6, 0..12), error in 0.0_f64..10.0) {
            let points: Vec<Point> = points(&values).into_iter().map(|point| Point { error, ..point }).collect();
            if let Some(trend) = Trend::through(&points) {
                prop_assert!(trend.slope.is_finite() && trend.slope_error.is_finite() && trend.error_at(50.0).is_finite());
            }
        }
    }
}
