//! A mail of reminders as bytes: plain text beside simple HTML, with the headers that let its reader end what may be ended
//! (RFC 2369, RFC 8058) and that tell other programs not to answer it (RFC 3834).

use crate::club::calendar::Instant;
use crate::club::reminders::letter::{self, Part};
use crate::paper::PaperError;
use askama::Template;
use lettre::message::header::{Header, HeaderName, HeaderValue};
use lettre::message::{Mailbox, MultiPart};
use lettre::{Address, Message};
use std::time::{Duration, UNIX_EPOCH};

/// What goes into one mail. `token`: of its links that end kinds; empty where there are none, as on a page.
pub struct Letter<'a> {
    pub club: &'a str,
    pub from: &'a str,
    pub called: &'a str,
    pub to: &'a str,
    pub message_id: &'a str,
    pub made: Instant,
    /// What its links begin with.
    pub base: &'a str,
    pub token: &'a str,
    pub parts: &'a [Part],
    /// It asks whether its address is its reader's, and has no parts.
    pub is_to_confirm: bool,
}

#[derive(Template)]
#[template(path = "mail/confirm.txt")]
struct ToConfirm<'a> {
    club: &'a str,
    called: &'a str,
    base: &'a str,
    token: &'a str,
}

#[derive(Template)]
#[template(path = "mail/confirm.html")]
struct ToConfirmHtml<'a> {
    club: &'a str,
    called: &'a str,
    base: &'a str,
    token: &'a str,
}

#[derive(Template)]
#[template(path = "mail/reminders.txt")]
struct AsText<'a> {
    club: &'a str,
    called: &'a str,
    base: &'a str,
    token: &'a str,
    parts: &'a [Part],
    has_optional: bool,
}

#[derive(Template)]
#[template(path = "mail/reminders.html")]
struct AsHtml<'a> {
    subject: &'a str,
    club: &'a str,
    called: &'a str,
    base: &'a str,
    token: &'a str,
    parts: &'a [Part],
    has_optional: bool,
}

macro_rules! header {
    ($type:ident, $name:literal) => {
        #[derive(Clone)]
        struct $type(String);

        impl Header for $type {
            fn name() -> HeaderName {
                HeaderName::new_from_ascii_str($name)
            }

            fn parse(text: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
                Ok(Self(text.to_owned()))
            }

            fn display(&self) -> HeaderValue {
                HeaderValue::new(Self::name(), self.0.clone())
            }
        }
    };
}

header!(ListUnsubscribe, "List-Unsubscribe");
header!(ListUnsubscribePost, "List-Unsubscribe-Post");
header!(AutoSubmitted, "Auto-Submitted");

fn failed(error: impl std::fmt::Display) -> PaperError {
    PaperError(error.to_string())
}

impl Letter<'_> {
    pub fn subject(&self) -> String {
        if self.is_to_confirm {
            return format!("{}: is this your address?", self.club);
        }
        letter::subject(self.club, self.parts)
    }

    fn has_optional(&self) -> bool {
        !letter::optional(self.parts).is_empty()
    }

    /// As its plain text reads.
    pub fn text(&self) -> Result<String, PaperError> {
        if self.is_to_confirm {
            let text = ToConfirm {
                club: self.club,
                called: self.called,
                base: self.base,
                token: self.token,
            };
            return text.render().map_err(failed);
        }
        let text = AsText {
            club: self.club,
            called: self.called,
            base: self.base,
            token: self.token,
            parts: self.parts,
            has_optional: self.has_optional(),
        };
        text.render().map_err(failed)
    }

    fn html(&self) -> Result<String, PaperError> {
        if self.is_to_confirm {
            let html = ToConfirmHtml {
                club: self.club,
                called: self.called,
                base: self.base,
                token: self.token,
            };
            return html.render().map_err(failed);
        }
        let subject = self.subject();
        let html = AsHtml {
            subject: &subject,
            club: self.club,
            called: self.called,
            base: self.base,
            token: self.token,
            parts: self.parts,
            has_optional: self.has_optional(),
        };
        html.render().map_err(failed)
    }

    pub fn message(&self) -> Result<Message, PaperError> {
        let mailbox = |name: &str, address: &str| {
            let address: Address = address.parse().map_err(failed)?;
            Ok::<_, PaperError>(Mailbox::new(Some(name.to_owned()), address))
        };
        let made = u64::try_from(self.made.ms()).unwrap_or_default();
        let mut message = Message::builder()
            .from(mailbox(self.club, self.from)?)
            .to(mailbox(self.called, self.to)?)
            .subject(self.subject())
            .message_id(Some(format!("<{}>", self.message_id)))
            .date(UNIX_EPOCH + Duration::from_millis(made))
            .header(AutoSubmitted("auto-generated".to_owned()));
        if self.has_optional() && !self.token.is_empty() {
            let address = format!("<{}/unsubscribe/{}>", self.base, self.token);
            message = message.header(ListUnsubscribe(address));
            // RFC 8058, 3.1: one click takes an https address.
            if self.base.starts_with("https://") {
                let one_click = "List-Unsubscribe=One-Click".to_owned();
                message = message.header(ListUnsubscribePost(one_click));
            }
        }
        let parts = MultiPart::alternative_plain_html(self.text()?, self.html()?);
        message.multipart(parts).map_err(failed)
    }
}
