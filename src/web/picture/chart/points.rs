//! Points of a line: what of them is a number, and fewer of them where more would not be seen, with nothing that stood out
//! lost.

/// Beyond it no figure of a club is meant; a clock in milliseconds since 1970 is below.
const LARGEST: f64 = 1e15;

pub fn is_drawn(value: f64) -> bool {
    value.is_finite() && value.abs() <= LARGEST
}

/// In the order of time; what is no number is left out.
pub fn finite(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let drawn = points.iter().copied();
    let mut drawn: Vec<(f64, f64)> = drawn
        .filter(|(at, value)| is_drawn(*at) && is_drawn(*value))
        .collect();
    drawn.sort_by(|one, other| one.0.total_cmp(&other.0));
    drawn
}

/// 0 and 0 of nothing.
pub fn least_and_most(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let seen = values.filter(|value| is_drawn(*value));
    let range = seen.fold(None, |range: Option<(f64, f64)>, value| {
        let (least, most) = range.unwrap_or((value, value));
        Some((least.min(value), most.max(value)))
    });
    range.unwrap_or((0.0, 0.0))
}

/// At most four in each of so many stretches of time: the first, the least, the most and the last.
pub fn thinned(points: &[(f64, f64)], stretches: usize) -> Vec<(f64, f64)> {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return Vec::new();
    };
    if points.len() <= 4 * stretches {
        return points.to_vec();
    }
    let wide = ((last.0 - first.0) / stretches as f64).max(f64::MIN_POSITIVE);
    let stretch_of = |point: &(f64, f64)| ((point.0 - first.0) / wide) as usize;
    let mut kept = Vec::new();
    for together in points.chunk_by(|one, next| stretch_of(one) == stretch_of(next)) {
        kept.extend(standing_out(together));
    }
    kept
}

/// In their order, each once.
fn standing_out(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let by_figure =
        |one: &(usize, &(f64, f64)), other: &(usize, &(f64, f64))| one.1.1.total_cmp(&other.1.1);
    let least = points.iter().enumerate().min_by(by_figure);
    let most = points.iter().enumerate().max_by(by_figure);
    let mut places = vec![0, points.len().saturating_sub(1)];
    places.extend(least.into_iter().chain(most).map(|(at, _)| at));
    places.sort_unstable();
    places.dedup();
    let kept = places.into_iter().filter_map(|at| points.get(at).copied());
    kept.collect()
}
