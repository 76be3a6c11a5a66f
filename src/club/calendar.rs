//! Days and instants: when a due date ends in the hall, and how an instant is named in the hall's own time.
//! An [`Instant`] is a point in time in Unix milliseconds UTC; a [`Day`] is a civil date. No caller of `now` here.

use jiff::{Timestamp, civil::Date, tz::TimeZone};

/// A point in time: Unix milliseconds, UTC. The only instant the database knows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Instant(pub i64);

impl Instant {
    pub const fn ms(self) -> i64 {
        self.0
    }

    pub const fn plus_minutes(self, minutes: i64) -> Self {
        Self(self.0.saturating_add(minutes * 60_000))
    }

    pub const fn plus_hours(self, hours: i64) -> Self {
        self.plus_minutes(hours * 60)
    }

    pub const fn plus_days(self, days: i64) -> Self {
        self.plus_minutes(days * 24 * 60)
    }

    /// Whole minutes from `earlier` to `self`; negative when `earlier` is later.
    pub const fn minutes_since(self, earlier: Self) -> i64 {
        (self.0 - earlier.0).div_euclid(60_000)
    }

    /// Whole days of 24 hours from `earlier` to `self`.
    pub const fn days_since(self, earlier: Self) -> i64 {
        self.minutes_since(earlier).div_euclid(24 * 60)
    }
}

/// A civil date, in the database `YYYY-MM-DD`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(pub Date);

impl Day {
    /// Reads `YYYY-MM-DD`; anything else, and years outside 1990 to 2199, is None.
    pub fn parse(text: &str) -> Option<Self> {
        let date: Date = text.trim().parse().ok()?;
        (1990..2200).contains(&date.year()).then_some(Self(date))
    }

    pub fn plus_days(self, days: i64) -> Self {
        let span = jiff::Span::new().try_days(days).unwrap_or_default();
        Self(self.0.saturating_add(span))
    }

    /// Days from `self` to `later`; negative when it lies before.
    pub fn days_until(self, later: Self) -> i64 {
        self.0
            .until(later.0)
            .map_or(0, |span| i64::from(span.get_days()))
    }
}

impl std::fmt::Display for Day {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// The hall's time zone, an IANA name such as `Europe/London`.
#[derive(Clone, Debug)]
pub struct Zone(TimeZone);

impl Zone {
    pub fn named(name: &str) -> Option<Self> {
        TimeZone::get(name).ok().map(Self)
    }

    pub fn utc() -> Self {
        Self(TimeZone::UTC)
    }

    pub fn day_of(&self, at: Instant) -> Day {
        Day(self.zoned(at).date())
    }

    /// The first instant after `day` in the hall: a due date ends there.
    pub fn end_of(&self, day: Day) -> Instant {
        self.start_of(day.plus_days(1))
    }

    pub fn start_of(&self, day: Day) -> Instant {
        day.0
            .to_zoned_datetime(self.0.clone())
            .map_or(Instant(0), |zoned| {
                Instant(zoned.timestamp().as_millisecond())
            })
    }

    /// The instant of a wall-clock time in the hall, `HH:MM`; a time skipped by a clock change moves on with the clock.
    pub fn at(&self, day: Day, hour_minute: &str) -> Option<Instant> {
        let time = jiff::civil::Time::strptime("%H:%M", hour_minute.trim()).ok()?;
        let zoned = day
            .0
            .to_datetime(time)
            .to_zoned_datetime(self.0.clone())
            .ok()?;
        Some(Instant(zoned.timestamp().as_millisecond()))
    }

    /// `Fri 27 Nov 2026`
    pub fn date_words(&self, at: Instant) -> String {
        self.zoned(at).strftime("%a %-d %b %Y").to_string()
    }

    /// `March`; `March 2025` in another year than `now`.
    pub fn month_words(&self, at: Instant, now: Instant) -> String {
        let (month, now) = (self.zoned(at), self.zoned(now));
        let format = if month.year() == now.year() {
            "%B"
        } else {
            "%B %Y"
        };
        month.strftime(format).to_string()
    }

    /// `21:40`
    pub fn time_words(&self, at: Instant) -> String {
        self.zoned(at).strftime("%H:%M").to_string()
    }

    fn zoned(&self, at: Instant) -> jiff::ZonedDateTime {
        Timestamp::from_millisecond(at.0)
            .unwrap_or(Timestamp::UNIX_EPOCH)
            .to_zoned_datetime(self.0.clone())
    }
}

/// `2026-11-27T21:40:05Z`: the same words in every zone.
pub fn utc_words(at: Instant) -> String {
    let stamp = Timestamp::from_millisecond(at.0).unwrap_or(Timestamp::UNIX_EPOCH);
    stamp.strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
}

/// Reads what [`utc_words`] writes; a blank in place of the T and small letters do.
pub fn utc_typed(text: &str) -> Option<Instant> {
    let text = text.trim().to_uppercase().replacen(' ', "T", 1);
    let stamp: Timestamp = text.parse().ok()?;
    Some(Instant(stamp.as_millisecond()))
}

/// `Fri 27 Nov 2026`
pub fn day_words(day: Day) -> String {
    day.0.strftime("%a %-d %b %Y").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_due_date_ends_at_midnight_in_the_hall_also_when_the_clock_changes() {
        // IANA tz database: Europe/London leaves summer time on 2026-10-25, America/New_York on 2026-11-01.
        let london = Zone::named("Europe/London").expect("a zone");
        let day = Day::parse("2026-10-25").expect("a day");
        assert_eq!(
            london.end_of(day).0 - london.start_of(day).0,
            25 * 3_600_000
        );
        let new_york = Zone::named("America/New_York").expect("a zone");
        let eve = Day::parse("2026-11-01").expect("a day");
        assert_eq!(
            new_york.end_of(eve).0 - new_york.start_of(eve).0,
            25 * 3_600_000
        );
    }

    #[test]
    fn a_month_is_named_with_its_year_where_that_is_another() {
        let london = Zone::named("Europe/London").expect("a zone");
        let start = |day: &str| london.start_of(Day::parse(day).expect("a day"));
        let now = start("2026-11-27");
        assert_eq!(london.month_words(start("2026-03-01"), now), "March");
        assert_eq!(
            london.month_words(start("2025-12-31"), now),
            "December 2025"
        );
    }

    #[test]
    fn an_instant_in_the_words_of_every_zone_is_read_back_to_the_second() {
        let at = Instant(1_795_815_605_999);
        assert_eq!(utc_words(at), "2026-11-27T21:40:05Z");
        assert_eq!(
            utc_typed(" 2026-11-27 21:40:05z"),
            Some(Instant(1_795_815_605_000))
        );
        assert_eq!(utc_typed("2026-11-27 21:40"), None);
        assert_eq!(utc_typed(""), None);
    }

    #[test]
    fn a_leap_day_is_a_day_and_the_thirtieth_of_february_is_not() {
        assert!(Day::parse("2028-02-29").is_some());
        assert!(Day::parse("2026-02-29").is_none());
        assert!(Day::parse("2028-02-30").is_none());
        assert!(Day::parse("0001-01-01").is_none());
    }

    #[test]
    fn days_are_counted_by_the_calendar_not_in_hours() {
        let first = Day::parse("2026-10-24").expect("a day");
        assert_eq!(first.days_until(first.plus_days(400)), 400);
        assert_eq!(first.plus_days(2).days_until(first), -2);
    }
}
