//! The real program as a process on a port of its own, and requests to it over a socket.

use std::net::SocketAddr;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// Killed when dropped.
pub struct Server {
    child: Child,
}

impl Server {
    /// Comes back once it says that it is ready.
    pub async fn start(url: &str, at: SocketAddr) -> Self {
        let server = Self::begin(url, at, &[]);
        let began = Instant::now();
        while status_of(at, "/health/ready").await != 200 {
            assert!(
                began.elapsed() < Duration::from_secs(20),
                "it does not get ready"
            );
            tokio::time::sleep(Duration::from_millis(2)).await;
        }
        server
    }

    /// Comes back at once. `more`: variables that it is started with.
    pub fn begin(url: &str, at: SocketAddr, more: &[(&str, &str)]) -> Self {
        let child = Command::new(env!("CARGO_BIN_EXE_sandbucket"))
            .env_clear()
            .envs(more.iter().copied())
            .args(["--listen", &at.to_string(), "--database-url", url])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        Self { child }
    }

    pub fn process_id(&self) -> u32 {
        self.child.id()
    }

    pub fn kill(&mut self) {
        self.child.kill().expect("SIGKILL");
        self.child.wait().expect("it is gone");
    }

    /// SIGTERM. The shell's own `kill` sends it: the standard library can only kill.
    pub fn tell_to_stop(&self) {
        let order = format!("kill -TERM {}", self.child.id());
        let told = Command::new("sh").args(["-c", &order]).status();
        assert!(told.expect("a shell").success(), "{order}");
    }

    /// Waits until the process is gone; did it end well?
    pub async fn has_ended_well(&mut self) -> bool {
        let began = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("a process") {
                return status.success();
            }
            assert!(
                began.elapsed() < Duration::from_secs(30),
                "it does not stop"
            );
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub fn free_address() -> SocketAddr {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
    listener.local_addr().expect("an address")
}

/// A request as a browser would send it over plain http.
pub fn request(at: SocketAddr, line: &str, cookie: &str, body: &str) -> String {
    format!(
        "{line}\r\nHost: {at}\r\nOrigin: http://{at}\r\nCookie: sandbucket={cookie}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    )
}

/// Status and whole answer; an error when the connection broke before all of it had come.
pub async fn send(
    at: SocketAddr,
    line: &str,
    cookie: &str,
    body: &str,
) -> std::io::Result<(u16, String)> {
    let mut stream = TcpStream::connect(at).await?;
    let request = request(at, line, cookie, body);
    stream.write_all(request.as_bytes()).await?;
    answer_on(&mut stream).await
}

pub async fn answer_on(stream: &mut TcpStream) -> std::io::Result<(u16, String)> {
    // A file is no text.
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes).await?;
    let answer = String::from_utf8_lossy(&bytes).into_owned();
    let status = answer.split(' ').nth(1).and_then(|code| code.parse().ok());
    let status = status.ok_or(std::io::ErrorKind::UnexpectedEof)?;
    Ok((status, answer))
}

/// 0 when nobody listens there.
pub async fn status_of(at: SocketAddr, path: &str) -> u16 {
    let line = format!("GET {path} HTTP/1.1");
    send(at, &line, "", "")
        .await
        .map_or(0, |(status, _)| status)
}
