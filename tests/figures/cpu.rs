//! CPU time of this process, user and system, all threads. The kernel counts in hundredths of a second, so what is
//! measured must last for a good part of one.

use std::time::Duration;

/// Hundredths of a second: USER_HZ, the same on every Linux the program runs on.
const TICK: Duration = Duration::from_millis(10);

pub fn used() -> Duration {
    let stat = std::fs::read_to_string("/proc/self/stat").expect("Linux");
    // The name in brackets may hold anything, spaces too.
    let behind_name = stat.rsplit_once(')').expect("a name").1;
    let fields: Vec<&str> = behind_name.split_whitespace().collect();
    let ticks = |at: usize| fields[at].parse::<u32>().expect("a count");
    TICK * (ticks(11) + ticks(12))
}

/// Microseconds of CPU for one of `count` turns of `work`.
pub async fn us_each<F: Future<Output = ()>>(count: u32, mut work: impl FnMut(u32) -> F) -> f64 {
    let before = used();
    for turn in 0..count {
        work(turn).await;
    }
    (used() - before).as_secs_f64() * 1e6 / f64::from(count)
}

/// The middle of several: what else runs on the machine disturbs some rounds, not most.
pub fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}
