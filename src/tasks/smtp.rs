//! One mail over SMTP. TLS is checked against the machine's own list of authorities and those of the settings; without TLS only where the settings say so.
//! Tells what came of it: sent, refused for good, or not now.

use crate::club::returned_mail::short;
use crate::config::Authorities;
use lettre::transport::smtp::Error;
use lettre::transport::smtp::client::{Certificate, Tls, TlsParameters};
use lettre::{AsyncSmtpTransport, AsyncTransport, Message, Tokio1Executor};
use std::time::Duration;

#[derive(Debug)]
pub enum Outcome {
    Sent(String),
    /// Not now: no connection, no TLS, no sign-in, or a 4xx.
    Failed(String),
    /// A 5xx, or a mail that can't be written. `is_address`: as far as the answer tells, nothing will reach it.
    Refused {
        is_address: bool,
        words: String,
    },
}

pub struct Smtp(AsyncSmtpTransport<Tokio1Executor>);

/// What is wrong with the sign-in is no fault of whom the mail is to: RFC 4954, 6 (530, 534, 535, 538) and RFC 5321, 4.2.2
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
        Ok(Self(builder.timeout(Some(Duration::from_secs(30))).build()))
    }

    /// Gives up after so many seconds: then the lease is over too.
    pub async fn send(&self, message: &Message, seconds: u32) -> Outcome {
        let limit = Duration::from_secs(u64::from(seconds));
        match tokio::time::timeout(limit, self.0.send(message.clone())).await {
            Err(_) => Outcome::Failed("The mail server did not answer in time.".to_owned()),
            Ok(Ok(answer)) => {
                let lines: Vec<&str> = answer.message().collect();
                Outcome::Sent(short(&lines.join(" ")))
            }
            Ok(Err(error)) => failed(&error),
        }
    }
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
            is_address: true,
            words,
        },
        _ => Outcome::Failed(words),
    }
}
