//! One request to a push service (RFC 8030), by HTTPS with its certificate checked. The name is looked up here and judged before
//! anything is sent, so that it can't lead into a network of the machine's own; a redirect is not followed.

use crate::club::phone::{Endpoint, is_open};
use crate::config::Settings;
use crate::tasks::tls;
use axum::http::{Request, Response, StatusCode, header};
use http_body_util::{BodyExt, Full, Limited};
use hyper::body::{Bytes, Incoming};
use hyper_util::rt::TokioIo;
use std::net::SocketAddr;
use std::sync::Arc;
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::pki_types::ServerName;

#[derive(Debug)]
pub enum Outcome {
    Taken(String),
    /// It knows that phone no more (RFC 8030, 7.3: 404; 410 is what push services answer too).
    Gone(String),
    /// Not now; `after`: seconds that it asks to wait (RFC 9110, 10.2.3), as it wrote them.
    Later {
        words: String,
        after: Option<String>,
    },
    /// Not this message to this phone.
    Refused(String),
}

fn later(words: impl ToString) -> Outcome {
    Outcome::Later {
        words: words.to_string(),
        after: None,
    }
}

/// What goes there.
pub struct Sent {
    pub authorization: String,
    /// At most 32 signs of base64url; a later one of the same takes its place where it waits (RFC 8030, 5.4).
    pub topic: String,
    pub ttl_seconds: i64,
    /// `normal` or `high` (RFC 8030, 5.3).
    pub urgency: &'static str,
    pub body: Vec<u8>,
}

pub struct PushServices<'a> {
    tls: TlsConnector,
    settings: &'a Settings,
}

/// Bytes of an answer that are read.
const ANSWER_MAX: usize = 2_000;

impl<'a> PushServices<'a> {
    pub fn of(settings: &'a Settings) -> Result<Self, String> {
        let config = tls::client(settings.authorities.as_ref())?;
        Ok(Self {
            tls: TlsConnector::from(Arc::new(config)),
            settings,
        })
    }

    pub async fn send(&self, endpoint: &Endpoint<'_>, sent: Sent) -> Outcome {
        let own = self.settings.mail_host();
        let is_allowed = |ip| self.settings.is_push_network(ip);
        if let Err(refusal) = endpoint.check(&own, is_allowed) {
            return Outcome::Refused(refusal.to_string());
        }
        match self.ask(endpoint, sent).await {
            Ok(answer) => read(answer).await,
            Err(outcome) => outcome,
        }
    }

    async fn ask(
        &self,
        endpoint: &Endpoint<'_>,
        sent: Sent,
    ) -> Result<Response<Incoming>, Outcome> {
        let stream = self.connect(endpoint).await?;
        let (mut sender, connection) = hyper::client::conn::http1::handshake(TokioIo::new(stream))
            .await
            .map_err(later)?;
        // Ends with the sender, or with the line.
        tokio::spawn(connection);
        let origin = endpoint.origin();
        let host = origin.trim_start_matches("https://");
        let request = Request::post(endpoint.path)
            .header(header::HOST, host)
            .header(header::AUTHORIZATION, sent.authorization)
            .header(header::CONTENT_ENCODING, "aes128gcm")
            .header(header::CONTENT_TYPE, "application/octet-stream")
            .header("ttl", sent.ttl_seconds)
            .header("topic", sent.topic)
            .header("urgency", sent.urgency)
            .body(Full::new(Bytes::from(sent.body)));
        let request = request.map_err(|error| Outcome::Refused(error.to_string()))?;
        sender.send_request(request).await.map_err(later)
    }

    /// To an address that may be asked, and to no other that the name has.
    async fn connect(&self, endpoint: &Endpoint<'_>) -> Result<TlsStream<TcpStream>, Outcome> {
        let found = tokio::net::lookup_host((endpoint.host, endpoint.port)).await;
        let found: Vec<SocketAddr> = found.map_err(later)?.collect();
        let mut last =
            later("The push service lies in a network that reminders may not be sent to.");
        let may_ask = |at: &&SocketAddr| is_open(at.ip()) || self.settings.is_push_network(at.ip());
        for at in found.iter().filter(may_ask) {
            match TcpStream::connect(at).await {
                Ok(stream) => {
                    let name = ServerName::try_from(endpoint.host.to_owned()).map_err(later)?;
                    return self.tls.connect(name, stream).await.map_err(later);
                }
                Err(error) => last = later(error),
            }
        }
        Err(last)
    }
}

async fn read(answer: Response<Incoming>) -> Outcome {
    let status = answer.status();
    let after = answer.headers().get(header::RETRY_AFTER);
    let after = after.and_then(|text| text.to_str().ok().map(str::to_owned));
    let body = Limited::new(answer.into_body(), ANSWER_MAX).collect().await;
    let body = body.map(|read| read.to_bytes()).unwrap_or_default();
    let told = String::from_utf8_lossy(&body);
    let words = crate::club::returned_mail::short(format!("{status} {told}").trim());
    match status {
        _ if status.is_success() => Outcome::Taken(words),
        StatusCode::NOT_FOUND | StatusCode::GONE => Outcome::Gone(words),
        StatusCode::TOO_MANY_REQUESTS | StatusCode::REQUEST_TIMEOUT => {
            Outcome::Later { words, after }
        }
        _ if status.is_server_error() => Outcome::Later { words, after },
        _ => Outcome::Refused(words),
    }
}
