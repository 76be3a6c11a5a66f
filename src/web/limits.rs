//! How often something may be tried: per network and per subject, so that guessing is slow and one network can't lock
//! a person out for good.

use crate::web::page::PageError;
use governor::clock::{Clock, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use std::net::{IpAddr, Ipv6Addr};
use std::num::NonZeroU32;
use std::time::Duration;
use uuid::Uuid;

pub struct Limits {
    sign_in_network: DefaultKeyedRateLimiter<IpAddr>,
    sign_in_name: DefaultKeyedRateLimiter<String>,
    secret_network: DefaultKeyedRateLimiter<IpAddr>,
    code_tablet: DefaultKeyedRateLimiter<Uuid>,
    code_person: DefaultKeyedRateLimiter<Uuid>,
    export_network: DefaultKeyedRateLimiter<IpAddr>,
    label_network: DefaultKeyedRateLimiter<IpAddr>,
    report_network: DefaultKeyedRateLimiter<IpAddr>,
    report_label: DefaultKeyedRateLimiter<(String, IpAddr)>,
    report_label_of_all: DefaultKeyedRateLimiter<String>,
    export_person: DefaultKeyedRateLimiter<Uuid>,
    upload_network: DefaultKeyedRateLimiter<IpAddr>,
    upload_person: DefaultKeyedRateLimiter<Uuid>,
    calendar_network: DefaultKeyedRateLimiter<IpAddr>,
    api_network: DefaultKeyedRateLimiter<IpAddr>,
    api_person: DefaultKeyedRateLimiter<Uuid>,
    whole_log: DefaultKeyedRateLimiter<Uuid>,
}

fn keyed<K: std::hash::Hash + Eq + Clone>(burst: u32, refill_s: u64) -> DefaultKeyedRateLimiter<K> {
    let burst = NonZeroU32::new(burst).unwrap_or(NonZeroU32::MIN);
    let quota = Quota::with_period(Duration::from_secs(refill_s.max(1)))
        .unwrap_or_else(|| Quota::per_minute(burst))
        .allow_burst(burst);
    RateLimiter::keyed(quota)
}

impl Limits {
    pub fn new() -> Self {
        Self {
            // A whole club signs in from one hall: thirty at once, then one every four seconds.
            sign_in_network: keyed(30, 4),
            // Eight tries for one name, then one every two minutes.
            sign_in_name: keyed(8, 120),
            // Set-up codes, invitations, resets.
            secret_network: keyed(12, 30),
            // People take turns at the table: twenty at once, then one every ten seconds.
            code_tablet: keyed(20, 10),
            // Six digits: five tries, then one every five minutes, is 288 of a million in a day.
            code_person: keyed(5, 300),
            // Labels that lead nowhere; a worn one is scanned a few times.
            label_network: keyed(30, 5),
            // Strangers' reports: a hall that fills with smoke sends a few, and one label is reported by a few people. One network
            // shuts nobody out of a label who comes from another.
            report_network: keyed(15, 60),
            report_label: keyed(12, 120),
            report_label_of_all: keyed(60, 30),
            // Every list for each of several people in one hall; one person takes all lists a few times over.
            export_network: keyed(300, 2),
            export_person: keyed(90, 5),
            upload_network: keyed(120, 2),
            upload_person: keyed(40, 10),
            // Calendar programs ask every few minutes at most; a hall of people behind one address has some each.
            calendar_network: keyed(60, 10),
            // A program reads every list and what stands in it, then asks once a second.
            api_network: keyed(1_200, 1),
            // However many tokens they have.
            api_person: keyed(600, 1),
            // Reads the whole log: a report and its check a few times over.
            whole_log: keyed(30, 10),
        }
    }

    pub fn sign_in(&self, network: IpAddr, name: &str) -> Result<(), PageError> {
        check(&self.sign_in_network, &network)?;
        check(&self.sign_in_name, &name.to_owned())
    }

    pub fn secret(&self, network: IpAddr) -> Result<(), PageError> {
        check(&self.secret_network, &network)
    }

    pub fn table_code(&self, tablet: Uuid, person: Uuid) -> Result<(), PageError> {
        check(&self.code_tablet, &tablet)?;
        check(&self.code_person, &person)
    }

    /// Theirs is asked first: who is refused takes nothing of what the hall shares.
    pub fn export(&self, network: IpAddr, person: Uuid) -> Result<(), PageError> {
        check(&self.export_person, &person)?;
        check(&self.export_network, &network)
    }

    /// As [`Limits::export`].
    pub fn upload(&self, network: IpAddr, person: Uuid) -> Result<(), PageError> {
        self.upload_of(person)?;
        self.upload_from(network)
    }

    /// Before a form is read that may bring a file.
    pub fn upload_of(&self, person: Uuid) -> Result<(), PageError> {
        check(&self.upload_person, &person)
    }

    /// A file came from there.
    pub fn upload_from(&self, network: IpAddr) -> Result<(), PageError> {
        check(&self.upload_network, &network)
    }

    /// Asked before it is known whose address it is.
    pub fn calendar(&self, network: IpAddr) -> Result<(), PageError> {
        check(&self.calendar_network, &network)
    }

    /// Asked before it is known whose token it is.
    pub fn api_network(&self, network: IpAddr) -> Result<(), PageError> {
        check(&self.api_network, &network)
    }

    pub fn api_person(&self, person: Uuid) -> Result<(), PageError> {
        check(&self.api_person, &person)
    }

    /// The log is read from its start.
    pub fn whole_log(&self, person: Uuid) -> Result<(), PageError> {
        check(&self.whole_log, &person)
    }

    /// A label that leads nowhere was asked for.
    pub fn label(&self, network: IpAddr) -> Result<(), PageError> {
        check(&self.label_network, &network)
    }

    /// Of somebody who is not signed in; `label`: what they scanned, or where else they report.
    pub fn report(&self, network: IpAddr, label: &str) -> Result<(), PageError> {
        check(&self.report_network, &network)?;
        check(&self.report_label, &(label.to_owned(), network))?;
        check(&self.report_label_of_all, &label.to_owned())
    }

    /// The same report sent again, since its answer was lost: it takes nobody's turn at the label.
    pub fn report_again(&self, network: IpAddr) -> Result<(), PageError> {
        check(&self.report_network, &network)
    }

    /// Forgets keys that have recovered, so that memory does not grow with every stranger.
    pub fn sweep(&self) {
        self.sign_in_network.retain_recent();
        self.sign_in_name.retain_recent();
        self.secret_network.retain_recent();
        self.code_tablet.retain_recent();
        self.code_person.retain_recent();
        self.export_network.retain_recent();
        self.label_network.retain_recent();
        self.report_network.retain_recent();
        self.report_label.retain_recent();
        self.report_label_of_all.retain_recent();
        self.export_person.retain_recent();
        self.upload_network.retain_recent();
        self.upload_person.retain_recent();
        self.calendar_network.retain_recent();
        self.api_network.retain_recent();
        self.api_person.retain_recent();
        self.whole_log.retain_recent();
    }
}

impl Default for Limits {
    fn default() -> Self {
        Self::new()
    }
}

fn check<K: std::hash::Hash + Eq + Clone>(
    limiter: &DefaultKeyedRateLimiter<K>,
    key: &K,
) -> Result<(), PageError> {
    limiter.check_key(key).map_err(|until| {
        let wait = until
            .wait_time_from(DefaultClock::default().now())
            .as_secs()
            + 1;
        PageError::TooOften {
            words: format!("That was tried too often. Try again in {wait} seconds."),
            retry_after_s: wait,
        }
    })
}

/// One network: an IPv4 address, or the /64 an IPv6 address lies in.
pub fn network_of(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(v6) => {
            let [a, b, c, d, ..] = v6.segments();
            IpAddr::V6(Ipv6Addr::new(a, b, c, d, 0, 0, 0, 0))
        }
        v4 @ IpAddr::V4(_) => v4,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ninth_try_for_one_name_must_wait_whatever_network_it_comes_from() {
        let limits = Limits::new();
        for host in 0..8 {
            assert!(
                limits
                    .sign_in(IpAddr::from([192, 0, 2, host]), "ada")
                    .is_ok()
            );
        }
        assert!(
            limits
                .sign_in(IpAddr::from([192, 0, 2, 99]), "ada")
                .is_err()
        );
        assert!(limits.sign_in(IpAddr::from([192, 0, 2, 99]), "ben").is_ok());
    }

    #[test]
    fn one_network_shuts_no_other_out_of_a_label_and_all_together_are_bounded_far_above() {
        let limits = Limits::new();
        let from = |network: u8| IpAddr::from([192, 0, 2, network]);
        for _ in 0..12 {
            assert!(limits.report(from(1), "door").is_ok());
        }
        assert!(limits.report(from(1), "door").is_err(), "its own limit");
        for network in 2..50 {
            assert!(limits.report(from(network), "door").is_ok(), "{network}");
        }
        assert!(limits.report(from(50), "door").is_err(), "all networks");
        assert!(limits.report(from(50), "window").is_ok());
    }

    #[test]
    fn who_is_refused_takes_nothing_of_what_their_network_shares() {
        let (limits, hall) = (Limits::new(), IpAddr::from([192, 0, 2, 1]));
        let (greedy, other) = (Uuid::from_u128(1), Uuid::from_u128(2));
        let taken =
            |ask: &dyn Fn() -> Result<(), PageError>| (0..1_000).filter(|_| ask().is_ok()).count();
        assert!((40..60).contains(&taken(&|| limits.upload(hall, greedy))));
        assert!(limits.upload(hall, other).is_ok());
        assert!((90..110).contains(&taken(&|| limits.export(hall, greedy))));
        assert!(limits.export(hall, other).is_ok());
    }

    #[test]
    fn two_addresses_in_one_ipv6_subnet_are_one_network() {
        let one: IpAddr = "2001:db8:1:2::10".parse().expect("an address");
        let two: IpAddr = "2001:db8:1:2:ffff::1".parse().expect("an address");
        let other: IpAddr = "2001:db8:1:3::10".parse().expect("an address");
        assert_eq!(network_of(one), network_of(two));
        assert_ne!(network_of(one), network_of(other));
    }
}
