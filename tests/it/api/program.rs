//! A program with a token, and what it is answered.

use crate::support::*;
use axum::body::{Body, to_bytes};
use axum::extract::ConnectInfo;
use axum::http::{HeaderMap, Method, Request, header};
use sandbucket::ids;
use sandbucket::store::tokens::{self, Token};
use serde_json::Value;
use std::net::{IpAddr, SocketAddr};
use uuid::Uuid;

pub const BASE: &str = "/api/v1";

#[derive(Clone)]
pub struct Program {
    served: Served,
    pub secret: Option<String>,
    cookie: Option<String>,
    address: IpAddr,
}

#[derive(Debug)]
pub struct Reply {
    pub status: u16,
    pub headers: HeaderMap,
    pub text: String,
    pub body: Vec<u8>,
}

/// A PNG of this size.
pub fn a_picture(width: u32, height: u32) -> Vec<u8> {
    let dots = image::DynamicImage::new_rgb8(width, height);
    let mut bytes = std::io::Cursor::new(Vec::new());
    let written = dots.write_to(&mut bytes, image::ImageFormat::Png);
    written.expect("a picture");
    bytes.into_inner()
}

impl Reply {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|error| panic!("{error}: {}", self.text))
    }

    pub fn header(&self, name: &str) -> &str {
        let value = self.headers.get(name);
        value.map_or("", |value| value.to_str().expect("a readable header"))
    }

    /// What a problem's type says behind its #.
    pub fn kind(&self) -> String {
        let told = self.json();
        let kind = told["type"].as_str().expect("a type");
        kind.strip_prefix("/api#").expect("a kind").to_owned()
    }

    /// The answer to something that was done.
    pub fn done(&self) -> Value {
        assert_eq!(self.status, 200, "{}", self.text);
        self.json()
    }
}

/// Asked with a body, and changes nothing.
pub fn computes(path: &str) -> bool {
    path.contains("/calc/")
}

impl Program {
    pub fn new(club: &TestClub, secret: Option<&str>) -> Self {
        Self {
            served: Served::of(&club.app),
            secret: secret.map(str::to_owned),
            cookie: None,
            address: IpAddr::from([192, 0, 2, 7]),
        }
    }

    /// In a network of its own.
    pub fn at(mut self, address: impl Into<IpAddr>) -> Self {
        self.address = address.into();
        self
    }

    pub fn with_cookie(mut self, cookie: &str) -> Self {
        self.cookie = Some(cookie.to_owned());
        self
    }

    pub async fn get(&self, path: &str) -> Reply {
        self.send(Method::GET, path, &[], "").await
    }

    pub async fn post(&self, path: &str, body: &Value) -> Reply {
        let kind = [("content-type", "application/json")];
        self.send(Method::POST, path, &kind, &body.to_string())
            .await
    }

    pub async fn post_once(&self, path: &str, body: &Value, key: &str) -> Reply {
        let headers = [
            ("content-type", "application/json"),
            ("idempotency-key", key),
        ];
        self.send(Method::POST, path, &headers, &body.to_string())
            .await
    }

    pub async fn send(
        &self,
        method: Method,
        path: &str,
        headers: &[(&str, &str)],
        body: &str,
    ) -> Reply {
        self.send_bytes(method, path, headers, body.into()).await
    }

    pub async fn send_bytes(
        &self,
        method: Method,
        path: &str,
        headers: &[(&str, &str)],
        body: Vec<u8>,
    ) -> Reply {
        let mut request = Request::builder()
            .method(method)
            .uri(path)
            .header(header::HOST, HOST);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        if let Some(secret) = &self.secret {
            request = request.header(header::AUTHORIZATION, format!("Bearer {secret}"));
        }
        if let Some(cookie) = &self.cookie {
            request = request.header(header::COOKIE, format!("sandbucket={cookie}"));
        }
        let mut request = request.body(Body::from(body)).expect("a request");
        let from = SocketAddr::new(self.address, 50_000);
        request.extensions_mut().insert(ConnectInfo(from));
        let response = self.served.ask(request).await;
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 256 * 1024 * 1024).await.expect("a body");
        Reply {
            status: parts.status.as_u16(),
            headers: parts.headers,
            text: String::from_utf8_lossy(&bytes).into_owned(),
            body: bytes.into(),
        }
    }
}

impl TestClub {
    /// A token of this person for a month.
    pub async fn token(&self, person_id: Uuid, may_change: bool) -> String {
        let secret = ids::new_token();
        let token = Token {
            id: ids::new_id(),
            person_id,
            name: "a program".to_owned(),
            may_change,
            made_ms: self.now(),
            used_ms: Some(self.now()),
            ends_ms: self.now().plus_days(30),
        };
        let mut tx = self.app.db.write().await.expect("the turn to write");
        let hash = ids::digest(&secret);
        tokens::add(&mut tx, &token, &hash).await.expect("a token");
        tx.save().await.expect("saved");
        secret
    }

    /// A program of this person that may change what the person may.
    pub async fn program(&self, person_id: Uuid) -> Program {
        let secret = self.token(person_id, true).await;
        Program::new(self, Some(&secret))
    }
}
