//! What came back: status, where it leads, and the page to be read by selector and text.

use axum::body::to_bytes;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::Response;
use scraper::{ElementRef, Html, Selector};
use std::collections::BTreeMap;
use std::io::Read;

pub struct Answer {
    /// What was asked for.
    pub path: String,
    pub status: StatusCode,
    /// Where a redirect leads.
    pub location: Option<String>,
    pub headers: HeaderMap,
    pub text: String,
    /// How much came over the wire.
    pub bytes: usize,
    body: Vec<u8>,
}

#[derive(Clone, Debug)]
pub struct Element {
    pub name: String,
    pub attributes: BTreeMap<String, String>,
    /// With single spaces, no outer ones.
    pub text: String,
}

impl Element {
    pub fn attribute(&self, name: &str) -> &str {
        self.attributes.get(name).map_or("", String::as_str)
    }
}

impl Answer {
    pub async fn of(path: &str, response: Response) -> Self {
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 256 * 1024 * 1024).await.expect("a body");
        let location = parts.headers.get(header::LOCATION);
        Self {
            path: path.to_owned(),
            status: parts.status,
            location: location.map(|place| place.to_str().expect("an address").to_owned()),
            headers: parts.headers,
            text: String::from_utf8_lossy(&bytes).into_owned(),
            bytes: bytes.len(),
            body: bytes.to_vec(),
        }
    }

    pub fn body(&self) -> &[u8] {
        &self.body
    }

    /// The text of a body that came as gzip.
    pub fn unpacked(&self) -> String {
        let mut text = String::new();
        let mut packed = flate2::read::GzDecoder::new(self.body.as_slice());
        packed.read_to_string(&mut text).expect("a gzip body");
        text
    }

    pub fn header(&self, name: &str) -> &str {
        self.headers
            .get(name)
            .map_or("", |value| value.to_str().expect("a readable header"))
    }

    pub fn select(&self, css: &str) -> Vec<Element> {
        let page = Html::parse_document(&self.text);
        page.select(&selector(css)).map(element).collect()
    }

    pub fn texts(&self, css: &str) -> Vec<String> {
        self.select(css)
            .into_iter()
            .map(|found| found.text)
            .collect()
    }

    /// The text of the only element that `css` finds.
    pub fn one(&self, css: &str) -> String {
        let mut found = self.texts(css);
        assert_eq!(found.len(), 1, "{css} on {}: {found:?}", self.path);
        found.remove(0)
    }

    /// What must be put right, as the list on top of a refused form says it.
    pub fn problems(&self) -> Vec<String> {
        self.texts("#problems li")
    }

    /// Where the form sends to and what stands in it: as a browser would send it untouched.
    pub fn form(&self, css: &str) -> (String, Vec<(String, String)>) {
        let page = Html::parse_document(&self.text);
        let form = page
            .select(&selector(css))
            .next()
            .unwrap_or_else(|| panic!("no {css} on {}: {}", self.path, self.text));
        let action = form.attr("action").unwrap_or(&self.path).to_owned();
        let named = selector("input[name], select[name], textarea[name]");
        (action, form.select(&named).filter_map(filled).collect())
    }

    pub fn is_refused(&self) -> bool {
        self.status == StatusCode::UNPROCESSABLE_ENTITY
    }

    /// Where it led, when something was done.
    pub fn done(&self) -> &str {
        let is_done = self.status == StatusCode::SEE_OTHER;
        assert!(is_done, "{}: {}\n{}", self.path, self.status, self.text);
        self.location.as_deref().unwrap_or_default()
    }
}

fn selector(css: &str) -> Selector {
    Selector::parse(css).unwrap_or_else(|error| panic!("{css}: {error}"))
}

fn words(found: ElementRef) -> String {
    let text: String = found.text().collect();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn element(found: ElementRef) -> Element {
    let attributes = found.value().attrs();
    Element {
        name: found.value().name().to_owned(),
        attributes: attributes
            .map(|(name, value)| (name.to_owned(), value.to_owned()))
            .collect(),
        text: words(found),
    }
}

/// Name and value a browser would send for a field nobody touched; None for what it would leave out.
fn filled(field: ElementRef) -> Option<(String, String)> {
    let name = field.attr("name")?.to_owned();
    let value = match (field.value().name(), field.attr("type")) {
        ("input", Some("checkbox" | "radio")) => {
            field.attr("checked")?;
            field.attr("value").unwrap_or("on").to_owned()
        }
        ("select", _) => {
            let chosen = field
                .select(&selector("option[selected]"))
                .next()
                .or_else(|| field.select(&selector("option")).next())?;
            chosen
                .attr("value")
                .map_or_else(|| words(chosen), str::to_owned)
        }
        ("textarea", _) => field.text().collect(),
        _ => field.attr("value").unwrap_or_default().to_owned(),
    };
    Some((name, value))
}
