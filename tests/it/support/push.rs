//! A push service of our own for tests, over TLS: it takes what is sent to a phone, refuses it, or asks to be left alone, as its next
//! play says, and keeps what it was sent. `APhone` reads that with keys of its own, by another library. Beside it the certificates of the tests.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sandbucket::config::{Authorities, Settings};
use std::collections::{BTreeMap, VecDeque};
use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt, BufReader};
use tokio::net::TcpListener;
use tokio::task::JoinHandle;
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::rustls::{ServerConfig, crypto::ring};
use web_push_native::p256::SecretKey;
use web_push_native::p256::elliptic_curve::sec1::ToEncodedPoint;

/// The authority that signed the tests' server certificate, good until 2119; its own key is gone.
pub const AUTHORITY: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/tests/it/support/tls/authority.pem"
);
const CERTIFICATE: &[u8] = include_bytes!("tls/server.pem");
const KEY: &[u8] = include_bytes!("tls/server.key");

/// How the tests' servers speak TLS.
pub fn acceptor() -> TlsAcceptor {
    let certificate = CertificateDer::from_pem_slice(CERTIFICATE).expect("a certificate");
    let key = PrivateKeyDer::from_pem_slice(KEY).expect("its key");
    let config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .expect("versions")
        .with_no_client_auth()
        .with_single_cert(vec![certificate], key);
    TlsAcceptor::from(Arc::new(config.expect("a server")))
}

/// The tests' authority is believed.
pub fn believe(settings: &mut Settings) {
    let read = CertificateDer::from_pem_file(AUTHORITY).expect("the authority");
    settings.authorities = Some(Authorities(vec![read]));
}

/// Pages come by https, and a push service of the tests may be asked.
pub fn may_push(settings: &mut Settings) {
    believe(settings);
    settings.public_url = Some("https://packs.example".to_owned());
    settings.push_networks = vec!["127.0.0.0/8".parse().expect("a network")];
}

/// What it answers to a request.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Says {
    /// 201, a moment later where that is said.
    Takes,
    TakesSlowly,
    /// It takes the message, and the line breaks before it can say so.
    TakesAndBreaks,
    /// 410.
    Gone,
    /// 429, with this `Retry-After`.
    NotNow(&'static str),
    /// 403.
    Refuses,
    /// 307 to somewhere else.
    SendsOn,
}

#[derive(Clone, Debug)]
pub struct Pushed {
    pub path: String,
    /// Names in small letters.
    pub headers: BTreeMap<String, String>,
    pub body: Vec<u8>,
}

#[derive(Default)]
struct State {
    says: VecDeque<Says>,
    usual: Option<Says>,
    pushed: Vec<Pushed>,
}

pub struct PushService {
    pub at: SocketAddr,
    state: Arc<Mutex<State>>,
    task: JoinHandle<()>,
}

impl Drop for PushService {
    fn drop(&mut self) {
        self.task.abort();
    }
}

impl PushService {
    pub async fn open() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let at = listener.local_addr().expect("an address");
        let (state, tls): (Arc<Mutex<State>>, _) = (Arc::default(), acceptor());
        let of_task = state.clone();
        let task = tokio::spawn(async move {
            loop {
                let (stream, _) = listener.accept().await.expect("a connection");
                let (state, tls) = (of_task.clone(), tls.clone());
                tokio::spawn(async move {
                    if let Ok(stream) = tls.accept(stream).await {
                        // A line that breaks is the other side's affair.
                        let _ = answer(stream, &state).await;
                    }
                });
            }
        });
        Self { at, state, task }
    }

    /// Where it takes what is for this phone.
    pub fn endpoint(&self, phone: &str) -> String {
        format!("https://{}/send/{phone}", self.at)
    }

    /// What it answers next; afterwards it takes all.
    pub fn says(&self, says: &[Says]) {
        self.state.lock().expect("its state").says.extend(says);
    }

    pub fn usually(&self, says: Says) {
        self.state.lock().expect("its state").usual = Some(says);
    }

    /// All that it was sent, whatever it answered.
    pub fn pushed(&self) -> Vec<Pushed> {
        self.state.lock().expect("its state").pushed.clone()
    }
}

async fn answer(
    stream: impl AsyncRead + AsyncWrite + Unpin,
    state: &Mutex<State>,
) -> std::io::Result<()> {
    let mut stream = BufReader::new(stream);
    let pushed = request(&mut stream).await?;
    let says = {
        let mut state = state.lock().expect("its state");
        state.pushed.push(pushed);
        let usual = state.usual.unwrap_or(Says::Takes);
        state.says.pop_front().unwrap_or(usual)
    };
    let words = match says {
        Says::TakesAndBreaks => return Ok(()),
        Says::Takes => "201 Created\r\n".to_owned(),
        Says::TakesSlowly => {
            tokio::time::sleep(Duration::from_millis(40)).await;
            "201 Created\r\n".to_owned()
        }
        Says::Gone => "410 Gone\r\n".to_owned(),
        Says::NotNow(after) => format!("429 Too Many Requests\r\nRetry-After: {after}\r\n"),
        Says::Refuses => "403 Forbidden\r\n".to_owned(),
        Says::SendsOn => "307 Temporary Redirect\r\nLocation: https://127.0.0.1:1/\r\n".to_owned(),
    };
    let answer = format!("HTTP/1.1 {words}Content-Length: 0\r\nConnection: close\r\n\r\n");
    stream.write_all(answer.as_bytes()).await?;
    stream.shutdown().await
}

async fn request(stream: &mut (impl AsyncBufReadExt + Unpin)) -> std::io::Result<Pushed> {
    let mut line = String::new();
    stream.read_line(&mut line).await?;
    let path = line.split(' ').nth(1).unwrap_or_default().to_owned();
    let mut headers = BTreeMap::new();
    loop {
        line.clear();
        stream.read_line(&mut line).await?;
        let Some((name, value)) = line.trim_end().split_once(": ") else {
            break;
        };
        headers.insert(name.to_ascii_lowercase(), value.to_owned());
    }
    let length = headers
        .get("content-length")
        .and_then(|text| text.parse().ok());
    let mut body = vec![0; length.unwrap_or(0)];
    stream.read_exact(&mut body).await?;
    Ok(Pushed {
        path,
        headers,
        body,
    })
}

/// A phone's keys, as its browser makes them.
pub struct APhone {
    private: SecretKey,
    auth: [u8; 16],
}

impl APhone {
    /// The same for the same number.
    pub fn new(number: u8) -> Self {
        let private = SecretKey::from_slice(&[number; 32]).expect("a key");
        Self {
            private,
            auth: [number; 16],
        }
    }

    pub fn p256dh(&self) -> String {
        URL_SAFE_NO_PAD.encode(self.private.public_key().to_encoded_point(false))
    }

    pub fn auth(&self) -> String {
        URL_SAFE_NO_PAD.encode(self.auth)
    }

    /// What was sent to it, as JSON.
    pub fn reads(&self, pushed: &Pushed) -> serde_json::Value {
        let auth = web_push_native::Auth::from(self.auth);
        let read = web_push_native::decrypt(pushed.body.clone(), &self.private, &auth);
        serde_json::from_slice(&read.expect("it is for this phone")).expect("JSON")
    }
}
