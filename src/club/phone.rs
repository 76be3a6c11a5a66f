//! A phone that asked for reminders: is the address of its push service one that may be sent to, and are its keys keys? What the
//! browser gives comes from a person, and the server itself asks that address: it must lead into the open network, to nobody's own
//! machines (server-side request forgery, OWASP ASVS 5.0.0, 1.3.6). Names are looked up when something is sent, and judged by `is_open` then.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

/// Bytes of an address: those of push services have some 150 to 800. Common practice, no source.
pub const ENDPOINT_MAX: usize = 1_000;

/// Phones of one person: common practice, no source.
pub const PHONES_MAX: usize = 5;

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PhoneRefusal {
    #[error("The address of your phone's push service is not one that reminders may be sent to.")]
    Endpoint,
    #[error("Your phone's keys can't be read. Ask again on that phone.")]
    Keys,
    #[error("You have {PHONES_MAX} phones already. End one of them first.")]
    TooMany,
    #[error("This phone did not ask to be reminded.")]
    DidNotAsk,
}

/// `https://host[:port]/path`, taken apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Endpoint<'a> {
    pub host: &'a str,
    pub port: u16,
    /// With its slash and query.
    pub path: &'a str,
}

impl<'a> Endpoint<'a> {
    /// None: it is no such address. Written plainly alone: no user, no escapes in the host, no IPv6 address, no fragment.
    pub fn of(text: &'a str) -> Option<Self> {
        let behind = text
            .strip_prefix("https://")
            .filter(|_| text.len() <= ENDPOINT_MAX)?;
        let (authority, path) = behind.split_at(behind.find('/')?);
        let (host, port) = match authority.split_once(':') {
            Some((host, port)) => (host, port.parse().ok()?),
            None => (authority, 443),
        };
        let is_plain = |sign: u8| matches!(sign, b'a'..=b'z' | b'0'..=b'9' | b'.' | b'-');
        let is_host = !host.is_empty() && host.bytes().all(is_plain) && !host.starts_with('.');
        let is_path = path
            .bytes()
            .all(|sign| sign.is_ascii_graphic() && !matches!(sign, b'#' | b'\\' | b'"'));
        (is_host && is_path).then_some(Self { host, port, path })
    }

    /// What a VAPID token is for (RFC 8292, 2): scheme and host, and the port where it is not the usual one.
    pub fn origin(&self) -> String {
        match self.port {
            443 => format!("https://{}", self.host),
            port => format!("https://{}:{port}", self.host),
        }
    }

    /// May the server ask it? `own_host`: its own name. `is_allowed`: a network that somebody set for push services of their own.
    pub fn check(
        &self,
        own_host: &str,
        is_allowed: impl Fn(IpAddr) -> bool,
    ) -> Result<(), PhoneRefusal> {
        let is_fine = match self.host.parse::<Ipv4Addr>() {
            Ok(ip) => is_allowed(ip.into()),
            Err(_) => self.port == 443 && is_public_name(self.host),
        };
        (is_fine && !self.host.eq_ignore_ascii_case(own_host))
            .then_some(())
            .ok_or(PhoneRefusal::Endpoint)
    }
}

/// A name of the open network: with a dot, a top level that is no number, and none that RFC 6761, RFC 6762 or RFC 8375 keep for other uses.
fn is_public_name(host: &str) -> bool {
    const OWN: [&str; 7] = [
        "localhost",
        "local",
        "internal",
        "home",
        "lan",
        "arpa",
        "onion",
    ];
    let host = host.trim_end_matches('.');
    host.rsplit_once('.').is_some_and(|(_, top)| {
        !OWN.contains(&top) && top.bytes().any(|sign| sign.is_ascii_alphabetic())
    })
}

/// Is it an address of the open network, by the IANA registries of special-purpose addresses (RFC 6890 and its updates)?
pub fn is_open(ip: IpAddr) -> bool {
    match ip {
        IpAddr::V4(ip) => is_open_v4(ip),
        IpAddr::V6(ip) => is_open_v6(ip),
    }
}

fn is_open_v4(ip: Ipv4Addr) -> bool {
    let [a, b, c, _] = ip.octets();
    let is_special = ip.is_private()
        || ip.is_loopback()
        || ip.is_link_local()
        || ip.is_documentation()
        || matches!(
            (a, b, c),
            (0, _, _) | (100, 64..=127, _) | (192, 0, 0) | (192, 88, 99) | (198, 18..=19, _)
        )
        || a >= 224;
    !is_special
}

/// 2000::/3 alone is given out; of it what holds an IPv4 address is judged by that, and what is kept for other uses is not open.
fn is_open_v6(ip: Ipv6Addr) -> bool {
    let parts = ip.segments();
    let within = |high: u16, low: u16| {
        let ([a, b], [c, d]) = (high.to_be_bytes(), low.to_be_bytes());
        is_open_v4(Ipv4Addr::new(a, b, c, d))
    };
    match parts {
        [0, 0, 0, 0, 0, 0xffff, high, low] | [0x64, 0xff9b, 0, 0, 0, 0, high, low] => {
            within(high, low)
        }
        [0x2002, high, low, ..] => within(high, low),
        [0x2001, 0..=0x1ff | 0xdb8, ..] | [0x3fff, ..] => false,
        [first, ..] => first & 0xe000 == 0x2000,
    }
}

/// The phone's public key (an uncompressed point of P-256) and secret (RFC 8291, 3.2), as bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Keys {
    pub p256dh: [u8; 65],
    pub auth: [u8; 16],
}

impl Keys {
    /// Base64url, as browsers give them.
    pub fn of(p256dh: &str, auth: &str) -> Result<Self, PhoneRefusal> {
        let read = Self {
            p256dh: bytes(p256dh).ok_or(PhoneRefusal::Keys)?,
            auth: bytes(auth).ok_or(PhoneRefusal::Keys)?,
        };
        (read.p256dh[0] == 4)
            .then_some(read)
            .ok_or(PhoneRefusal::Keys)
    }
}

fn bytes<const LENGTH: usize>(text: &str) -> Option<[u8; LENGTH]> {
    let plain = text.trim_end_matches('=');
    if plain.len() > LENGTH * 2 {
        return None;
    }
    URL_SAFE_NO_PAD.decode(plain).ok()?.try_into().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn checked(text: &str) -> bool {
        let endpoint = Endpoint::of(text);
        endpoint.is_some_and(|one| one.check("packs.example", |_| false).is_ok())
    }

    #[test]
    fn an_address_leads_into_the_open_network_by_https_and_nowhere_else() {
        for good in [
            "https://push.example/send/abc",
            "https://a-b.push.example:443/wpush/v2/gAAA_-%20?x=1",
        ] {
            assert!(checked(good), "{good}");
        }
        for bad in [
            "http://push.example/send",
            "https://push.example",
            "https://packs.example/send",
            "https://localhost/send",
            "https://printer/send",
            "https://printer.local/send",
            "https://router.home.arpa/send",
            "https://push.example:8443/send",
            "https://127.0.0.1/send",
            "https://10.0.0.1/send",
            "https://192.0.2.7/send",
            "https://2130706433/send",
            "https://0x7f.1/send",
            "https://[::1]/send",
            "https://push.example@127.0.0.1/send",
            "https://push.example#@evil.example/",
            "https://push.example\\@evil.example/",
            "https://push.example/a b",
            "https://PUSH.example/send",
            "https:///send",
            "https://.example/send",
            "",
        ] {
            assert!(!checked(bad), "{bad}");
        }
        let long = format!("https://push.example/{}", "a".repeat(ENDPOINT_MAX));
        assert!(!checked(&long));
    }

    #[test]
    fn a_network_that_somebody_set_may_be_asked_at_any_port() {
        let endpoint = Endpoint::of("https://127.0.0.1:8443/send").expect("an address");
        assert!(
            endpoint
                .check("packs.example", |ip| ip.is_loopback())
                .is_ok()
        );
        assert!(
            endpoint.check("127.0.0.1", |ip| ip.is_loopback()).is_err(),
            "never itself"
        );
        assert_eq!(endpoint.origin(), "https://127.0.0.1:8443");
    }

    #[test]
    fn addresses_that_are_kept_for_other_uses_are_not_open() {
        // IANA, IPv4 and IPv6 Special-Purpose Address Registries.
        for closed in [
            "0.0.0.0",
            "10.1.2.3",
            "100.64.0.1",
            "127.0.0.1",
            "169.254.169.254",
            "172.16.0.1",
            "192.0.0.8",
            "192.0.2.1",
            "192.168.1.1",
            "198.18.0.1",
            "198.51.100.1",
            "203.0.113.1",
            "224.0.0.1",
            "255.255.255.255",
            "::",
            "::1",
            "::ffff:127.0.0.1",
            "64:ff9b::10.0.0.1",
            "100::1",
            "2001:db8::1",
            "2001::1",
            "2002:a00:1::",
            "3fff::1",
            "fc00::1",
            "fe80::1",
            "ff02::1",
        ] {
            assert!(!is_open(closed.parse().expect(closed)), "{closed}");
        }
        for open in [
            "1.1.1.1",
            "8.8.8.8",
            "2606:4700::1111",
            "::ffff:1.1.1.1",
            "64:ff9b::1.1.1.1",
        ] {
            assert!(is_open(open.parse().expect(open)), "{open}");
        }
    }

    #[test]
    fn keys_are_a_point_and_sixteen_bytes() {
        // RFC 8291, 5.
        let point = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4";
        let secret = "BTBZMqHH6r4Tts7J_aSIgg";
        assert!(Keys::of(point, secret).is_ok());
        for (p256dh, auth) in [
            (point, ""),
            ("", secret),
            (secret, point),
            (&point[1..], secret),
            ("A", "A"),
        ] {
            assert_eq!(Keys::of(p256dh, auth), Err(PhoneRefusal::Keys));
        }
    }
}
