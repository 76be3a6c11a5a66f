//! A person at a browser: keeps cookies, sends what a browser sends over plain http in a hall (an Origin, no
//! Sec-Fetch-Site), follows nothing by itself. Asks the router directly; there is no port.

use super::{Answer, Served};
use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::{HeaderMap, Method, Request, header};
use sandbucket::app::App;
use std::collections::BTreeMap;
use std::net::{IpAddr, SocketAddr};
use std::sync::Mutex;
use uuid::Uuid;

/// What the hall calls the server.
pub const HOST: &str = "hall.example:8080";

pub struct Browser {
    served: Served,
    /// Whose hands it is in; None for a visitor.
    pub person_id: Option<Uuid>,
    cookies: Mutex<BTreeMap<String, String>>,
    address: IpAddr,
    host: String,
}

impl Browser {
    pub fn new(app: &App, person_id: Option<Uuid>) -> Self {
        Self {
            served: Served::of(app),
            person_id,
            cookies: Mutex::default(),
            address: IpAddr::from([192, 0, 2, 7]),
            host: HOST.to_owned(),
        }
    }

    /// The same browser in another network.
    pub fn at(mut self, address: impl Into<IpAddr>) -> Self {
        self.address = address.into();
        self
    }

    /// The same browser, calling the server by another name.
    pub fn called(mut self, host: &str) -> Self {
        host.clone_into(&mut self.host);
        self
    }

    /// The same browser once more, with the same cookies.
    pub fn again(&self) -> Self {
        let cookies = self.cookies.lock().expect("cookies").clone();
        Self {
            served: self.served.clone(),
            person_id: self.person_id,
            cookies: Mutex::new(cookies),
            address: self.address,
            host: self.host.clone(),
        }
    }

    pub fn id(&self) -> Uuid {
        self.person_id.expect("somebody known")
    }

    pub fn keep_cookie(&self, name: &str, value: &str) {
        let mut cookies = self.cookies.lock().expect("cookies");
        if value.is_empty() {
            cookies.remove(name);
        } else {
            cookies.insert(name.to_owned(), value.to_owned());
        }
    }

    pub fn cookie(&self, name: &str) -> Option<String> {
        self.cookies.lock().expect("cookies").get(name).cloned()
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.send(Method::GET, path, &[], None).await
    }

    /// Sends a form from a page of ours.
    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let origin = format!("http://{}", self.host);
        let headers = [("origin", origin.as_str())];
        self.send(Method::POST, path, &headers, Some(urlencoded(fields)))
            .await
    }

    /// Sends a form with these headers and no others.
    pub async fn post_with(
        &self,
        path: &str,
        headers: &[(&str, &str)],
        fields: &[(&str, &str)],
    ) -> Answer {
        self.send(Method::POST, path, headers, Some(urlencoded(fields)))
            .await
    }

    /// Sends the form found in `page`, as it was filled there, with these fields put in its place.
    pub async fn submit(&self, page: &Answer, form: &str, typed: &[(&str, &str)]) -> Answer {
        let (action, held) = page.form(form);
        let mut fields: Vec<(&str, &str)> = held
            .iter()
            .filter(|(name, _)| !typed.iter().any(|(typed, _)| typed == name))
            .map(|(name, value)| (name.as_str(), value.as_str()))
            .collect();
        fields.extend(typed);
        self.post(&action, &fields).await
    }

    /// Sends the form found in `page` with these fields put in its place and a file: name and bytes.
    pub async fn upload(
        &self,
        page: &Answer,
        form: &str,
        typed: &[(&str, &str)],
        file: (&str, &str, &[u8]),
    ) -> Answer {
        let (action, held) = page.form(form);
        let held = held
            .iter()
            .map(|(name, value)| (name.as_str(), value.as_str()))
            .filter(|(name, _)| *name != file.0 && !typed.iter().any(|(typed, _)| typed == name));
        let fields: Vec<(&str, &str)> = held.chain(typed.iter().copied()).collect();
        self.send_file(&action, &fields, file).await
    }

    /// Sends a form of these fields and a file: field, name and bytes.
    pub async fn send_file(
        &self,
        action: &str,
        fields: &[(&str, &str)],
        (field, name, bytes): (&str, &str, &[u8]),
    ) -> Answer {
        let mut body = Vec::new();
        for (name, value) in fields {
            let part = format!(
                "--part\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n"
            );
            body.extend_from_slice(part.as_bytes());
        }
        let head = format!(
            "--part\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"{name}\"\r\n\r\n"
        );
        body.extend_from_slice(head.as_bytes());
        body.extend_from_slice(bytes);
        body.extend_from_slice(b"\r\n--part--\r\n");
        let origin = format!("http://{}", self.host);
        let headers = [
            ("origin", origin.as_str()),
            ("content-type", "multipart/form-data; boundary=part"),
        ];
        self.send_bytes(Method::POST, action, &headers, Some(body))
            .await
    }

    pub async fn send(
        &self,
        method: Method,
        path: &str,
        headers: &[(&str, &str)],
        form: Option<String>,
    ) -> Answer {
        let form = form.map(String::into_bytes);
        self.send_bytes(method, path, headers, form).await
    }

    async fn send_bytes(
        &self,
        method: Method,
        path: &str,
        headers: &[(&str, &str)],
        form: Option<Vec<u8>>,
    ) -> Answer {
        let mut request = Request::builder()
            .method(method)
            .uri(path)
            .header(header::HOST, &self.host);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        if let Some(cookies) = self.cookie_line() {
            request = request.header(header::COOKIE, cookies);
        }
        let has_kind = headers.iter().any(|(name, _)| *name == "content-type");
        if form.is_some() && !has_kind {
            request = request.header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        }
        let body = form.map_or_else(Body::empty, Body::from);
        self.ask(path, request.body(body).expect("a request")).await
    }

    /// Sends a form with a file whose body is given out as it is asked for.
    pub async fn send_body(&self, path: &str, body: Body) -> Answer {
        let request = Request::builder()
            .method(Method::POST)
            .uri(path)
            .header(header::HOST, &self.host)
            .header(header::ORIGIN, format!("http://{}", self.host))
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=part")
            .header(header::COOKIE, self.cookie_line().unwrap_or_default());
        self.ask(path, request.body(body).expect("a request")).await
    }

    async fn ask(&self, path: &str, mut request: Request<Body>) -> Answer {
        request
            .extensions_mut()
            .insert(ConnectInfo(SocketAddr::new(self.address, 50_000)));
        let response = self.served.ask(request).await;
        self.keep_cookies(response.headers());
        Answer::of(path, response).await
    }

    fn cookie_line(&self) -> Option<String> {
        let cookies = self.cookies.lock().expect("cookies");
        let pairs: Vec<String> = cookies
            .iter()
            .map(|(name, value)| format!("{name}={value}"))
            .collect();
        (!pairs.is_empty()).then(|| pairs.join("; "))
    }

    fn keep_cookies(&self, headers: &HeaderMap) {
        for line in headers.get_all(header::SET_COOKIE) {
            let line = line.to_str().expect("a readable cookie");
            let pair = line.split(';').next().unwrap_or_default();
            let (name, value) = pair.split_once('=').expect("name=value");
            self.keep_cookie(name, value);
        }
    }
}

/// `application/x-www-form-urlencoded`, everything but letters and digits escaped.
pub fn urlencoded(fields: &[(&str, &str)]) -> String {
    let pairs: Vec<String> = fields
        .iter()
        .map(|(name, value)| format!("{}={}", escaped(name), escaped(value)))
        .collect();
    pairs.join("&")
}

fn escaped(text: &str) -> String {
    text.bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' => char::from(byte).to_string(),
            other => format!("%{other:02X}"),
        })
        .collect()
}
