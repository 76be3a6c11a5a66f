//! A mail server of our own for tests: it greets, asks for a sign-in, takes mail or refuses it, as its next play says. It knows of
//! SMTP what RFC 5321 and RFC 4954 say a submission needs, and keeps each mail that it took.

use std::collections::VecDeque;
use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, AsyncRead, AsyncWrite, AsyncWriteExt, BufReader};
use tokio::net::TcpListener;
use tokio::task::JoinHandle;
use tokio_rustls::TlsAcceptor;

/// What it does with a connection.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Play {
    Takes,
    /// It takes the mail and says so a moment later.
    TakesSlowly,
    /// It keeps the line open, and says nothing at all.
    SaysNothing,
    /// 421 in place of a greeting.
    TurnsAway,
    /// 535 to the right password.
    RefusesSignIn,
    /// 451 to the recipient.
    NotNow,
    /// 550 to the recipient.
    NoSuchBox,
    /// 553 to the sender.
    RefusesSender,
    /// 554 to the mail itself.
    RefusesMail,
    /// The line breaks in the middle of the mail.
    BreaksInMail,
    /// It takes the mail, and the line breaks before it can say so.
    TakesAndBreaks,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Received {
    pub from: String,
    pub to: String,
    pub data: String,
}

impl Received {
    /// What a reader of plain text sees.
    pub fn text(&self) -> String {
        let mail = mail_parser::MessageParser::default().parse(self.data.as_bytes());
        let text = mail.as_ref().and_then(|mail| mail.body_text(0));
        text.expect("plain text").into_owned()
    }
}

#[derive(Default)]
struct State {
    plays: VecDeque<Play>,
    usual: Option<Play>,
    received: Vec<Received>,
    connections: usize,
}

pub struct Post {
    pub at: SocketAddr,
    state: Arc<Mutex<State>>,
    task: JoinHandle<()>,
}

impl Drop for Post {
    fn drop(&mut self) {
        self.task.abort();
    }
}

/// `quinn` and `secret`, as AUTH PLAIN sends them.
const SIGN_IN: &str = "AHF1aW5uAHNlY3JldA==";

impl Post {
    pub async fn open() -> Self {
        Self::opened(None).await
    }

    /// Each connection begins with TLS, by the tests' certificate.
    pub async fn open_tls() -> Self {
        Self::opened(Some(super::acceptor())).await
    }

    async fn opened(tls: Option<TlsAcceptor>) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let at = listener.local_addr().expect("an address");
        let state: Arc<Mutex<State>> = Arc::default();
        let of_task = state.clone();
        let task = tokio::spawn(async move {
            loop {
                let (stream, _) = listener.accept().await.expect("a connection");
                let state = of_task.clone();
                let play = {
                    let mut state = state.lock().expect("its state");
                    state.connections += 1;
                    let usual = state.usual.unwrap_or(Play::Takes);
                    state.plays.pop_front().unwrap_or(usual)
                };
                let tls = tls.clone();
                tokio::spawn(async move {
                    // A line that breaks is the other side's affair.
                    let _ = match tls {
                        None => converse(stream, play, &state).await,
                        Some(tls) => match tls.accept(stream).await {
                            Ok(stream) => converse(stream, play, &state).await,
                            Err(error) => Err(error),
                        },
                    };
                });
            }
        });
        Self { at, state, task }
    }

    pub fn url(&self) -> String {
        format!("smtp://quinn:secret@{}", self.at)
    }

    /// What it does with the next connections; afterwards it takes all.
    pub fn plays(&self, plays: &[Play]) {
        self.state.lock().expect("its state").plays.extend(plays);
    }

    /// What it does with all others.
    pub fn usually(&self, play: Play) {
        self.state.lock().expect("its state").usual = Some(play);
    }

    pub fn received(&self) -> Vec<Received> {
        self.state.lock().expect("its state").received.clone()
    }

    pub fn connections(&self) -> usize {
        self.state.lock().expect("its state").connections
    }
}

/// Plain, or inside TLS.
trait Stream: AsyncRead + AsyncWrite + Unpin + Send {}
impl<T: AsyncRead + AsyncWrite + Unpin + Send> Stream for T {}

async fn converse(stream: impl Stream, play: Play, state: &Mutex<State>) -> std::io::Result<()> {
    let mut stream = BufReader::new(stream);
    if play == Play::SaysNothing {
        return std::future::pending().await;
    }
    if play == Play::TurnsAway {
        return say(&mut stream, "421 post.example is full").await;
    }
    say(&mut stream, "220 post.example ready").await?;
    let (mut from, mut to, mut is_in) = (String::new(), String::new(), false);
    loop {
        let mut line = String::new();
        if stream.read_line(&mut line).await? == 0 {
            return Ok(());
        }
        let line = line.trim_end();
        let verb = line.split([' ', ':']).next().unwrap_or_default();
        let answer = match verb.to_ascii_uppercase().as_str() {
            "EHLO" => "250-post.example\r\n250-AUTH PLAIN\r\n250 8BITMIME".to_owned(),
            "AUTH" if play == Play::RefusesSignIn => "535 5.7.8 no".to_owned(),
            "AUTH" => {
                is_in = line.ends_with(SIGN_IN);
                if is_in { "235 in" } else { "535 5.7.8 no" }.to_owned()
            }
            "MAIL" | "RCPT" | "DATA" if !is_in => "530 5.7.0 sign in first".to_owned(),
            "MAIL" if play == Play::RefusesSender => {
                "553 5.7.1 Sender address rejected: not owned by user".to_owned()
            }
            "MAIL" => {
                from = between(line);
                "250 ok".to_owned()
            }
            "RCPT" if play == Play::NotNow => "451 4.7.1 come back later".to_owned(),
            "RCPT" if play == Play::NoSuchBox => "550 5.1.1 no such box".to_owned(),
            "RCPT" => {
                to = between(line);
                "250 ok".to_owned()
            }
            "DATA" => {
                say(&mut stream, "354 go on").await?;
                let Some(data) = data(&mut stream, play).await? else {
                    return Ok(());
                };
                if play == Play::RefusesMail {
                    "554 5.6.0 not this".to_owned()
                } else {
                    let taken = Received {
                        from: from.clone(),
                        to: to.clone(),
                        data,
                    };
                    state.lock().expect("its state").received.push(taken);
                    if play == Play::TakesAndBreaks {
                        return Ok(());
                    }
                    if play == Play::TakesSlowly {
                        tokio::time::sleep(Duration::from_millis(40)).await;
                    }
                    "250 2.0.0 taken".to_owned()
                }
            }
            "QUIT" => return say(&mut stream, "221 bye").await,
            "RSET" | "NOOP" => "250 ok".to_owned(),
            _ => "502 5.5.2 what?".to_owned(),
        };
        say(&mut stream, &answer).await?;
    }
}

async fn say(stream: &mut BufReader<impl Stream>, words: &str) -> std::io::Result<()> {
    stream.write_all(format!("{words}\r\n").as_bytes()).await?;
    stream.flush().await
}

/// `<a@b>` of a command.
fn between(line: &str) -> String {
    let behind = line.split_once('<').map_or("", |(_, behind)| behind);
    let address = behind.split_once('>').map_or("", |(address, _)| address);
    address.to_owned()
}

/// Up to the line with the one dot; None: the line broke.
async fn data(stream: &mut BufReader<impl Stream>, play: Play) -> std::io::Result<Option<String>> {
    let mut data = String::new();
    loop {
        let mut line = String::new();
        if stream.read_line(&mut line).await? == 0 {
            return Ok(None);
        }
        if line == ".\r\n" {
            return Ok(Some(data));
        }
        data.push_str(line.strip_prefix('.').unwrap_or(&line));
        if play == Play::BreaksInMail && data.len() > 200 {
            return Ok(None);
        }
    }
}
