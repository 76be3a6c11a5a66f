//! One mail over SMTP. TLS is checked against the machine's own list of authorities and those of the settings; without TLS only where the settings say so.
//! Tells what came of it: sent, refused for good, or not now.

use crate::club::returned_mail::{is_of_the_box, short};
use crate::config::Authorities;
use lettre::transport::smtp::Error;
use lettre::transport::smtp::client::{Certificate, Tls, TlsParameters};
use lettre::{AsyncSmtpTransport, AsyncTransport, Message, Tokio1Executor};
use std::time::Duration;

#[derive(Debug)]
pub enum Outcome {
    Sent(String),
    /// No TLS, or no sign-in.
    Failed(String),
    /// A 4xx of a server that is there: its disk, its database or its list of who came before.
    NotNow(String),
    /// No connection, no answer in time, or a 421: no other mail would fare better by now.
    Away(String),
    /// A 5xx, or a mail that can't be written. `is_address`: as far as the answer tells, nothing will reach it.
    Refused {
        is_address: bool,
        words: String,
    },
}

pub struct Smtp(AsyncSmtpTransport<Tokio1Executor>);

/// lettre's own limit is on connecting alone.
const TO_CONNECT: Duration = Duration::from_secs(30);

/// What is wrong with the sign-in is put right without another mail: RFC 4954, 6 (530, 534, 535, 538) and RFC 5321, 4.2.2
/// (502, 503, 504: commands that the server does not take).
const OF_THE_SENDER: [u16; 7] = [502, 503, 504, 530, 534, 535, 538];

impl Smtp {
    /// `url`: as `config` lets it pass. `more`: authorities that are believed beside the machine's own.
    pub fn to(url: &str, more: Option<&Authorities>) -> Result<Self, String> {
        let builder = AsyncSmtpTransport::<Tokio1Executor>::from_url(url);
        let mut builder = builder.map_err(|error| error.to_string())?;
        if let Some(tls) = more.and_then(|more| tls(url, more)) {
            builder = builder.tls(tls.map_err(|error| error.to_string())?);
        }
        Ok(Self(builder.timeout(Some(TO_CONNECT)).build()))
    }

    /// `lease`: seconds.
    pub async fn send(&self, message: &Message, lease: u32) -> Outcome {
        match tokio::time::timeout(limit(lease), self.0.send(message.clone())).await {
            Err(_) => Outcome::Away("The mail server did not answer in time.".to_owned()),
            Ok(Ok(answer)) => {
                let lines: Vec<&str> = answer.message().collect();
                Outcome::Sent(short(&lines.join(" ")))
            }
            Ok(Err(error)) => failed(&error),
        }
    }
}

/// A mail is cut after this, whatever hangs: greeting, or the last word on it, for which a server that looks for viruses may take long
/// (RFC 5321, 4.5.3.2, gives it ten minutes), and would deliver what was cut once for each time it is tried. Early enough before the end
/// of the lease, when another may send it, that what came of it is noted.
fn limit(lease: u32) -> Duration {
    Duration::from_secs(u64::from(lease)) * 3 / 4
}

/// None: the settings ask for no TLS.
fn tls(url: &str, more: &Authorities) -> Option<Result<Tls, Error>> {
    let uri: axum::http::Uri = url.parse().ok()?;
    let of: fn(TlsParameters) -> Tls = match uri.scheme_str() {
        Some("smtps") => Tls::Wrapper,
        _ if url.ends_with("?tls=required") => Tls::Required,
        _ => return None,
    };
    let host = uri.host()?.trim_start_matches('[').trim_end_matches(']');
    let mut parameters = TlsParameters::builder(host.to_owned());
    for certificate in &more.0 {
        match Certificate::from_der(certificate.to_vec()) {
            Ok(certificate) => parameters = parameters.add_root_certificate(certificate),
            Err(error) => return Some(Err(error)),
        }
    }
    Some(parameters.build().map(of))
}

fn failed(error: &Error) -> Outcome {
    let words = short(&error.to_string());
    let code = error.status().map(u16::from);
    match code {
        Some(code) if error.is_permanent() && !OF_THE_SENDER.contains(&code) => Outcome::Refused {
            is_address: is_of_the_box(code, &words),
            words,
        },
        Some(421) => Outcome::Away(words),
        Some(400..500) => Outcome::NotNow(words),
        None if is_of_the_line(error) => Outcome::Away(words),
        _ => Outcome::Failed(words),
    }
}

/// Neither what was said on it nor a certificate that nobody vouches for.
fn is_of_the_line(error: &Error) -> bool {
    let mut source = std::error::Error::source(error);
    while let Some(one) = source {
        if let Some(io) = one.downcast_ref::<std::io::Error>() {
            return io.kind() != std::io::ErrorKind::InvalidData;
        }
        source = one.source();
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mail_is_cut_before_its_lease_ends() {
        let seconds = [120, 40, 4].map(limit).map(|limit| limit.as_secs());
        assert_eq!(seconds, [90, 30, 3]);
    }
}
