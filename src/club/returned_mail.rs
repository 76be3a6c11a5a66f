//! A mail that came back: what a delivery status notification (RFC 3464, in a multipart/report by RFC 6522) says, of whom, and which
//! mail of ours it is about. Its parts are found here, line by line and without going into any of them, since no encoding but 7bit,
//! 8bit and binary may lie on them (RFC 2046, 5.2.1; RFC 3464, 2). Any bytes may come. Whether it is believed is for `actions::returned_mail`.

/// A notice holds our mail once more at most, and no mail of ours is nearly as large.
pub const MOST_BYTES: usize = 1024 * 1024;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Notice {
    /// Of the mail that came back, without its angle brackets.
    pub message_id: String,
    pub recipients: Vec<Recipient>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recipient {
    /// To whom it was sent and where it ended, as far as each is told, in small letters.
    addresses: Vec<String>,
    pub fate: Fate,
    /// What the mail server answered that did not take it, else the status.
    pub words: String,
}

/// What became of it (RFC 3464, 2.3.3 and 2.3.4).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// Given up with 5.x.x: another mail would fare no better.
    Failed,
    /// The same, but as its status tells the fault is ours.
    OfTheSender,
    /// It is still tried, or was given up with 4.x.x.
    NotForGood,
    /// It arrived, or nothing is told that can be read.
    Nothing,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoNotice {
    #[error("this mail is larger than 1 MB, as no notice of a returned mail is.")]
    TooLarge,
    #[error(
        "this mail is no delivery status notification (RFC 3464): it does not tell of a returned mail."
    )]
    OtherMail,
    #[error("this notice does not say of whom it is.")]
    NoRecipient,
    #[error(
        "this notice does not hold the headers of the returned mail, so nobody can say whether that was one of ours."
    )]
    NoHeaders,
}

impl Recipient {
    /// Capitals are not told apart, as no mail server does.
    pub fn is(&self, address: &str) -> bool {
        self.addresses.contains(&address.to_lowercase())
    }
}

/// `bytes`: a mail as a mail server hands it on, with CRLF or LF. What is no UTF-8 is read as a sign that stands for it.
pub fn read(bytes: &[u8]) -> Result<Notice, NoNotice> {
    if bytes.len() > MOST_BYTES {
        return Err(NoNotice::TooLarge);
    }
    let text = String::from_utf8_lossy(bytes);
    let lines: Vec<&str> = text.lines().collect();
    let mail = Part::of(&lines);
    let boundary = mail.boundary().ok_or(NoNotice::OtherMail)?;
    let parts = parts(mail.body, &boundary);
    let status = parts.iter().find(|part| part.is(&STATUS));
    let groups = status.ok_or(NoNotice::OtherMail)?.body.split(is_blank);
    let recipients: Vec<Recipient> = groups
        .filter_map(|group| Fields::of(group).recipient())
        .collect();
    if recipients.is_empty() {
        return Err(NoNotice::NoRecipient);
    }
    let returned = parts.iter().filter(|part| part.is(&RETURNED));
    let message_id = returned
        .filter_map(|part| Part::of(part.body).fields.message_id())
        .next();
    Ok(Notice {
        message_id: message_id.ok_or(NoNotice::NoHeaders)?,
        recipients,
    })
}

/// What of it stands on a page.
pub fn short(words: &str) -> String {
    let plain = words
        .chars()
        .map(|sign| if sign.is_control() { ' ' } else { sign });
    plain.take(300).collect()
}

/// RFC 3464, and RFC 6533 for addresses beyond ASCII.
const STATUS: [&str; 2] = ["message/delivery-status", "message/global-delivery-status"];
/// RFC 6522 and RFC 6533: the whole mail, or its headers.
const RETURNED: [&str; 4] = [
    "message/rfc822",
    "text/rfc822-headers",
    "message/global",
    "message/global-headers",
];

fn is_blank(line: &&str) -> bool {
    line.trim().is_empty()
}

/// A mail, or a part of one: its fields, and the lines behind the first that is blank.
struct Part<'a> {
    fields: Fields,
    body: &'a [&'a str],
}

impl<'a> Part<'a> {
    fn of(lines: &'a [&'a str]) -> Self {
        let end = lines.iter().position(is_blank);
        let end = end.unwrap_or(lines.len());
        Self {
            fields: Fields::of(&lines[..end]),
            body: lines.get(end + 1..).unwrap_or_default(),
        }
    }

    fn is(&self, types: &[&str]) -> bool {
        let told = self.fields.get("content-type").map(pieces);
        let told = told.and_then(|pieces| pieces.into_iter().next());
        told.is_some_and(|told| types.iter().any(|one| one.eq_ignore_ascii_case(&told)))
    }

    /// What parts a report; None: it is none.
    fn boundary(&self) -> Option<String> {
        let pieces = self
            .is(&["multipart/report"])
            .then(|| self.fields.get("content-type").map(pieces))??;
        let mut named = pieces.iter().filter_map(|piece| piece.split_once('='));
        let found = named.find(|(name, _)| name.trim().eq_ignore_ascii_case("boundary"));
        found
            .map(|(_, boundary)| boundary.trim_end().to_owned())
            .filter(|boundary| !boundary.is_empty())
    }
}

/// Between lines that are the boundary (RFC 2046, 5.1.1); what stands before the first and behind the last is none.
fn parts<'a>(body: &'a [&'a str], boundary: &str) -> Vec<Part<'a>> {
    let is_end = |line: &&str| {
        line.strip_prefix("--")
            .and_then(|line| line.strip_prefix(boundary))
            .is_some_and(|rest| rest.trim_end() == "--")
    };
    let is_between = |line: &&str| {
        line.strip_prefix("--")
            .and_then(|line| line.strip_prefix(boundary))
            .is_some_and(|rest| rest.trim_end().is_empty())
    };
    let end = body.iter().position(is_end).unwrap_or(body.len());
    body[..end]
        .split(is_between)
        .skip(1)
        .map(Part::of)
        .collect()
}

/// Parted at each `;` that stands in no quotes, which go (RFC 2045, 5.1).
fn pieces(value: &str) -> Vec<String> {
    let (mut pieces, mut piece, mut is_quoted) = (Vec::new(), String::new(), false);
    let mut signs = value.chars();
    while let Some(sign) = signs.next() {
        match sign {
            '"' => is_quoted = !is_quoted,
            '\\' if is_quoted => piece.extend(signs.next()),
            ';' if !is_quoted => pieces.push(std::mem::take(&mut piece)),
            _ => piece.push(sign),
        }
    }
    pieces.push(piece);
    pieces.iter().map(|piece| piece.trim().to_owned()).collect()
}

/// Name in small letters and value, with folded lines put together.
struct Fields(Vec<(String, String)>);

impl Fields {
    fn of(lines: &[&str]) -> Self {
        let mut fields: Vec<(String, String)> = Vec::new();
        for line in lines {
            match (line.starts_with([' ', '\t']), fields.last_mut()) {
                (true, Some((_, value))) => {
                    value.push(' ');
                    value.push_str(line.trim());
                }
                _ => fields.extend(line.split_once(':').map(|(name, value)| {
                    (name.trim().to_ascii_lowercase(), value.trim().to_owned())
                })),
            }
        }
        Self(fields)
    }

    fn get(&self, wanted: &str) -> Option<&str> {
        let found = self.0.iter().find(|(name, _)| name == wanted);
        found.map(|(_, value)| value.as_str())
    }

    fn message_id(&self) -> Option<String> {
        let (_, behind) = self.get("message-id")?.split_once('<')?;
        behind.split_once('>').map(|(id, _)| id.trim().to_owned())
    }

    /// None: these fields are of no recipient, as the first are.
    fn recipient(&self) -> Option<Recipient> {
        let told = [self.get("original-recipient"), self.get("final-recipient")];
        let addresses: Vec<String> = told.into_iter().flatten().filter_map(address).collect();
        let (status, action) = (
            self.get("status").map_or("", word),
            self.get("action").map_or("", word),
        );
        let answer = self
            .get("diagnostic-code")
            .and_then(|told| told.split_once(';'));
        let answer = answer
            .map(|(_, words)| words.trim())
            .filter(|words| !words.is_empty());
        (!addresses.is_empty()).then(|| Recipient {
            addresses,
            fate: fate(action, status),
            words: short(&answer.map_or_else(|| format!("status {status}"), str::to_owned)),
        })
    }
}

/// The first word; a comment in brackets may follow.
fn word(value: &str) -> &str {
    value.split([' ', '\t', '(']).next().unwrap_or_default()
}

/// `rfc822; quinn@club.example`; None: an address of another network.
fn address(value: &str) -> Option<String> {
    let (of, address) = value.split_once(';')?;
    let is_mail = ["rfc822", "utf-8"]
        .iter()
        .any(|kind| kind.eq_ignore_ascii_case(of.trim()));
    let address = word(address.trim())
        .trim_start_matches('<')
        .trim_end_matches('>');
    (is_mail && !address.is_empty()).then(|| address.to_lowercase())
}

fn fate(action: &str, status: &str) -> Fate {
    let numbers: Vec<Option<u16>> = status
        .split('.')
        .map(|number| number.parse().ok())
        .collect();
    let [Some(class), Some(subject), Some(detail)] = numbers[..] else {
        return Fate::Nothing;
    };
    match (action.to_ascii_lowercase().as_str(), class) {
        ("failed", 5) if is_of_the_sender(subject, detail) => Fate::OfTheSender,
        ("failed", 5) => Fate::Failed,
        ("failed" | "delayed", 4) | ("delayed", 5) => Fate::NotForGood,
        _ => Fate::Nothing,
    }
}

/// The sender's address (RFC 3463, 3.2), or what the server will not have from us: security and policy (3.8), sign-in among it (RFC 4954, 6).
const fn is_of_the_sender(subject: u16, detail: u16) -> bool {
    matches!((subject, detail), (1, 7 | 8) | (7, _))
}

/// Whether a 5xx says that this box is not there or takes no mail, so that no other mail will reach it. By its status where it tells
/// one (RFC 3463, 3.2 and 3.3; RFC 7505 for 5.1.10), else by its words. A refused sender, relaying, policy and a refused text are no
/// fault of whom it is to.
pub fn is_of_the_box(code: u16, words: &str) -> bool {
    let told = words.split_whitespace().find_map(|word| {
        let mut numbers = word
            .trim_matches(|sign: char| !sign.is_ascii_digit())
            .split('.')
            .map(str::parse);
        match (
            numbers.next(),
            numbers.next(),
            numbers.next(),
            numbers.next(),
        ) {
            (Some(Ok(5)), Some(Ok(subject)), Some(Ok(detail)), None) => Some((subject, detail)),
            _ => None,
        }
    });
    match told {
        Some(status) => matches!(status, (1, 1 | 2 | 3 | 6 | 10) | (2, 1)),
        None => code == 550 && speaks_of_a_box(words),
    }
}

/// Servers that tell no status say so in words: common practice, no source. What is not understood leaves the address as it is.
fn speaks_of_a_box(words: &str) -> bool {
    let words = words.to_lowercase();
    [
        "no such user",
        "no such mailbox",
        "no such recipient",
        "no such address",
        "no such box",
        "no mailbox",
        "user unknown",
        "unknown user",
        "unknown recipient",
        "recipient unknown",
        "mailbox not found",
        "user not found",
        "does not exist",
        "doesn't exist",
    ]
    .iter()
    .any(|each| words.contains(each))
}

#[cfg(test)]
#[path = "returned_mail_tests.rs"]
mod tests;
