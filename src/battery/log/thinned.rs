//! Fewer points of a log for a plot, such that nothing that stood out is lost: in each stretch of time the least and the most
//! of volts and of current, and both ends.

use super::Sample;

/// Both ends, and the four extremes of one stretch.
pub const FEWEST: usize = 6;

/// Which readings to draw, in their order: at most `most`, and no fewer than six are ever asked for.
pub fn thinned(samples: &[Sample], most: usize) -> Vec<usize> {
    let most = most.max(FEWEST);
    let (Some(first), Some(last)) = (samples.first(), samples.last()) else {
        return Vec::new();
    };
    if samples.len() <= most {
        return (0..samples.len()).collect();
    }
    // A stretch needs four points at most and often fewer: the finest that fits is taken.
    let coarsest = (most - 2) / 4;
    let mut stretches = most - 2;
    loop {
        let kept = in_stretches(samples, (first.seconds, last.seconds), stretches);
        if kept.len() <= most || stretches <= coarsest {
            return kept;
        }
        stretches = (stretches * 3 / 4).max(coarsest);
    }
}

fn in_stretches(samples: &[Sample], (from, to): (f64, f64), stretches: usize) -> Vec<usize> {
    let wide = (to - from) / stretches as f64;
    let mut kept = vec![0, samples.len() - 1];
    let mut start = 0;
    for stretch in 1..=stretches {
        let ends_at = from + wide * stretch as f64;
        let is_last = stretch == stretches;
        let inside = samples[start..].partition_point(|each| is_last || each.seconds < ends_at);
        kept.extend(extremes(&samples[start..start + inside]).map(|at| start + at));
        start += inside;
    }
    kept.sort_unstable();
    kept.dedup();
    kept
}

fn extremes(samples: &[Sample]) -> impl Iterator<Item = usize> {
    let of: [fn(&Sample) -> f64; 4] = [
        |each| each.volts,
        |each| -each.volts,
        |each| each.amps,
        |each| -each.amps,
    ];
    let least = |value: fn(&Sample) -> f64| {
        let all = samples.iter().enumerate();
        all.min_by(|(_, one), (_, other)| value(one).total_cmp(&value(other)))
            .map(|(at, _)| at)
    };
    of.into_iter().filter_map(least)
}

#[cfg(test)]
#[path = "thinned_tests.rs"]
mod tests;
