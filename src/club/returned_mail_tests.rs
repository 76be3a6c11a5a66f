//! Notices written from what RFC 3464, 6522 and 2045 say a server may send; and any bytes, which must never end the program.

use super::{Fate, MOST_BYTES, NoNotice, Notice, pieces, read};
use proptest::prelude::*;

/// Of one mail to ada@millrace.example, which came back as these fields say.
fn notice(fields: &str) -> String {
    format!(
        "Return-Path: <>\nFrom: mail server <postmaster@post.example>\nTo: sandbucket@packs.example\nMIME-Version: 1.0\n\
         Content-Type: multipart/report; report-type=delivery-status;\n\tboundary=\"of; this\"\n\nNot seen by anybody.\n\
         --of; this\n\nYour mail did not arrive.\n\n--of; this\nContent-Type: message/delivery-status\n\n\
         Reporting-MTA: dns; post.example\nArrival-Date: Fri, 27 Nov 2026 08:00:00 +0000\n\n{fields}\n\n\
         --of; this\nContent-Type: message/rfc822\n\nFrom: club <sandbucket@packs.example>\n\
         Message-ID:\n <0192@packs.example>\nSubject: P-001\n\nText\n--of; this--\nnothing more\n"
    )
}

const FAILED: &str = "Final-Recipient: rfc822; ada@millrace.example\nAction: failed\nStatus: 5.1.1\nDiagnostic-Code: smtp; 550 5.1.1 no\n such box";

fn fate_of(fields: &str) -> Fate {
    let notice = read(notice(fields).as_bytes()).expect("a notice");
    assert_eq!(notice.recipients.len(), 1);
    notice.recipients[0].fate
}

fn told(text: &str) -> (String, Vec<String>, Fate, String) {
    let Notice {
        message_id,
        mut recipients,
    } = read(text.as_bytes()).expect("a notice");
    let one = recipients.remove(0);
    (message_id, one.addresses, one.fate, one.words)
}

#[test]
fn a_notice_tells_whose_mail_came_back_and_why_with_either_end_of_line() {
    let expected = (
        "0192@packs.example".to_owned(),
        vec!["ada@millrace.example".to_owned()],
        Fate::Failed,
        "550 5.1.1 no such box".to_owned(),
    );
    let text = notice(FAILED);
    assert_eq!(told(&text), expected);
    assert_eq!(told(&text.replace('\n', "\r\n")), expected);
    assert_eq!(
        told(&format!(
            "From MAILER-DAEMON Fri Nov 27 08:00:00 2026\n{text}"
        )),
        expected
    );
    assert_eq!(
        told(
            &text
                .replace("Content-Type", "CONTENT-type")
                .replace("multipart/report", "Multipart/Report")
        ),
        expected
    );
    let headers = text.replace("message/rfc822", "text/rfc822-headers; charset=us-ascii");
    assert_eq!(told(&headers), expected);
    let cut_short = text.replace("--of; this--\nnothing more\n", "");
    assert_eq!(told(&cut_short), expected, "a last line that is missing");
}

#[test]
fn names_of_fields_and_kinds_of_addresses_are_read_in_any_letters_and_folds() {
    let fields = "ORIGINAL-RECIPIENT: RFC822;Ada@Millrace.Example\nfinal-recipient:\n Rfc822 ; <box7@post.example> (forwarded)\n\
                  action:\tFAILED (for good)\nSTATUS: 5.2.1 (closed)";
    let (_, addresses, fate, words) = told(&notice(fields));
    assert_eq!(addresses, ["ada@millrace.example", "box7@post.example"]);
    assert_eq!((fate, words.as_str()), (Fate::Failed, "status 5.2.1"));
    let elsewhere = FAILED.replace("rfc822", "x400");
    assert_eq!(
        read(notice(&elsewhere).as_bytes()),
        Err(NoNotice::NoRecipient)
    );
}

#[test]
fn several_recipients_are_told_apart() {
    let other = "Final-Recipient: rfc822; quinn@millrace.example\nAction: delivered\nStatus: 2.0.0";
    let read = read(notice(&format!("{other}\n\n{FAILED}")).as_bytes()).expect("a notice");
    let fates: Vec<Fate> = read.recipients.iter().map(|one| one.fate).collect();
    assert_eq!(fates, [Fate::Nothing, Fate::Failed]);
    assert!(
        read.recipients[1].is("ADA@millrace.example")
            && !read.recipients[1].is("quinn@millrace.example")
    );
}

#[test]
fn what_may_still_arrive_and_what_is_our_fault_is_no_dead_address() {
    let of = |action: &str, status: &str| {
        fate_of(
            &FAILED
                .replace("failed", action)
                .replace("Status: 5.1.1", &format!("Status: {status}")),
        )
    };
    assert_eq!(of("failed", "5.1.1"), Fate::Failed);
    assert_eq!(of("delayed", "4.4.1"), Fate::NotForGood);
    assert_eq!(of("delayed", "5.0.0"), Fate::NotForGood);
    assert_eq!(
        of("failed", "4.4.7"),
        Fate::NotForGood,
        "given up after days"
    );
    // RFC 7372 has 5.7.20 to 5.7.25, of signatures that a mail lacks.
    for ours in ["5.1.8", "5.7.1", "5.7.8", "5.7.9", "5.7.23"] {
        assert_eq!(of("failed", ours), Fate::OfTheSender, "{ours}");
    }
    for (action, status) in [
        ("delivered", "2.1.5"),
        ("relayed", "2.0.0"),
        ("expanded", "2.0.0"),
        ("failed", "2.0.0"),
        ("lost", "5.1.1"),
        ("failed", "5.1"),
        ("failed", "five"),
        ("failed", ""),
    ] {
        assert_eq!(of(action, status), Fate::Nothing, "{action} {status}");
    }
    assert_eq!(
        fate_of("Final-Recipient: rfc822; ada@millrace.example"),
        Fate::Nothing
    );
}

#[test]
fn any_other_mail_is_told_from_a_notice() {
    let text = notice(FAILED);
    let of = |text: &str| read(text.as_bytes()).expect_err("no notice");
    assert_eq!(of(""), NoNotice::OtherMail);
    assert_eq!(
        of("Subject: thanks\n\nSee you on Friday."),
        NoNotice::OtherMail
    );
    assert_eq!(
        of(&text.replace("multipart/report", "multipart/mixed")),
        NoNotice::OtherMail
    );
    assert_eq!(of(&text.replace("boundary", "border")), NoNotice::OtherMail);
    assert_eq!(
        of(&text.replace(
            "message/delivery-status",
            "message/disposition-notification"
        )),
        NoNotice::OtherMail
    );
    assert_eq!(
        of(&text.replace("Message-ID:\n", "In-Reply-To:\n")),
        NoNotice::NoHeaders
    );
    assert_eq!(
        of(&text.replace("message/rfc822", "text/plain")),
        NoNotice::NoHeaders
    );
    assert_eq!(read(&vec![b'a'; MOST_BYTES + 1]), Err(NoNotice::TooLarge));
    assert_eq!(read(&vec![b'a'; MOST_BYTES]), Err(NoNotice::OtherMail));
}

/// What lies inside of a part is never gone into.
#[test]
fn a_mail_in_a_mail_some_thousand_times_is_read_as_it_stands() {
    let deep = "Content-Type: message/rfc822\n\n".repeat(30_000);
    assert_eq!(read(deep.as_bytes()), Err(NoNotice::OtherMail));
    let inside = notice(FAILED).replace("Text\n", &deep);
    assert_eq!(told(&inside).2, Fate::Failed);
}

#[test]
fn what_is_no_text_is_kept_short_and_without_control_signs() {
    let fields = FAILED.replace("no\n such box", &format!("\u{1b}[31m{}", "é".repeat(400)));
    let (.., words) = told(&notice(&fields));
    assert!(
        words.chars().count() == 300 && !words.contains('\u{1b}'),
        "{words}"
    );
    let mut bytes = notice(FAILED).into_bytes();
    bytes.extend([0xff, 0xfe, 0]);
    assert!(read(&bytes).is_ok());
}

#[test]
fn quotes_keep_what_would_part() {
    assert_eq!(pieces(r#"a/b; c="d;\"e" ;f"#), ["a/b", "c=d;\"e", "f"]);
    assert_eq!(pieces(r#"a; b="c\"#), ["a", "b=c"]);
}

/// Lines of which notices are made, in any order and number, with any bytes between.
fn shuffled() -> impl Strategy<Value = Vec<u8>> {
    let lines: Vec<Vec<u8>> = notice(FAILED)
        .lines()
        .map(|line| line.as_bytes().to_vec())
        .collect();
    let line = prop_oneof![8 => prop::sample::select(lines), 1 => prop::collection::vec(any::<u8>(), 0..40)];
    let end = prop::sample::select(vec!["\n", "\r\n", "\r", ""]);
    prop::collection::vec((line, end), 0..60).prop_map(|all| {
        let whole = all
            .into_iter()
            .map(|(line, end)| [line, end.as_bytes().to_vec()].concat());
        whole.collect::<Vec<_>>().concat()
    })
}

proptest! {
    #[test]
    fn no_bytes_end_the_program(bytes in prop_oneof![prop::collection::vec(any::<u8>(), 0..2_000), shuffled()]) {
        let _ = read(&bytes);
    }

    #[test]
    fn a_notice_with_any_bytes_changed_is_read_or_refused(at in any::<prop::sample::Index>(), bytes in prop::collection::vec(any::<u8>(), 0..20)) {
        let mut text = notice(FAILED).into_bytes();
        let at = at.index(text.len());
        let end = (at + bytes.len()).min(text.len());
        text.splice(at..end, bytes);
        if let Ok(notice) = read(&text) {
            prop_assert!(!notice.recipients.is_empty() && !notice.recipients[0].addresses.is_empty());
        }
    }
}

#[test]
fn an_address_is_dead_where_the_answer_speaks_of_its_box_alone() {
    for (code, words, is_so) in [
        (550, "permanent error (550): 5.1.1 no such box", true),
        (550, "550 5.2.1 the mailbox is disabled", true),
        (556, "5.1.10 takes no mail", true),
        (550, "permanent error (550): no such user", true),
        (
            553,
            "5.7.1 Sender address rejected: not owned by user",
            false,
        ),
        (554, "5.7.1 Relay access denied", false),
        (550, "5.7.26 unsigned, from 10.0.0.1", false),
        (554, "5.6.0 not this", false),
        (552, "message too large", false),
        (553, "sender address rejected", false),
        (550, "5.2.2 mailbox full", false),
        (550, "Sender address rejected: Domain not found", false),
        (550, "Relaying denied", false),
        (550, "Blocked: your address 192.0.2.1 is on a list", false),
        (550, "spam message rejected", false),
        (550, "#5.1.1 bad address", true),
        (550, "policy (#5.7.1) says no such user may send", false),
    ] {
        assert_eq!(super::is_of_the_box(code, words), is_so, "{code} {words}");
    }
}
