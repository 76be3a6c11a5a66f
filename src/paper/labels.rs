//! Labels of packs: a sheet of them as PDF, and one alone as SVG. Each bears a code that leads to the pack's page, its
//! number, cells, capacity and chemistry in print.

use super::PaperError;
use super::code::Code;
use super::sheet::{Sheet, mm};
use super::typeset;
use crate::bench::FieldProblem;
use serde_json::{Value, json};

/// What a label says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Where its code leads.
    pub address: String,
    pub number: String,
    /// `3S 450 mAh`
    pub what: String,
    /// `LiPo`
    pub chemistry: String,
}

#[derive(Debug, thiserror::Error)]
pub enum SheetFailed {
    /// The label can't hold its code.
    #[error("{}", .0.words)]
    TooSmall(FieldProblem),
    #[error(transparent)]
    Paper(#[from] PaperError),
}

/// `skip`: labels of the first sheet that were used already. `is_cut`: each with a thin line around it.
pub struct Order<'a> {
    pub sheet: &'a Sheet,
    pub skip: i64,
    pub is_cut: bool,
    pub title: &'a str,
}

/// Can such a sheet hold codes that lead to addresses as long as this one?
pub fn holds(sheet: &Sheet, address: &str) -> Result<(), SheetFailed> {
    let code = Code::of(address)?;
    let parts = sheet.parts((code.size(), code.size_with_quiet()));
    parts.map(|_| ()).map_err(SheetFailed::TooSmall)
}

pub fn pdf(order: &Order<'_>, labels: &[Label]) -> Result<Vec<u8>, SheetFailed> {
    let mut pages: Vec<Vec<Value>> = Vec::new();
    for (at, label) in (order.skip..).zip(labels) {
        let (page, index) = (at / order.sheet.per_page(), at % order.sheet.per_page());
        let page = usize::try_from(page).unwrap_or_default();
        pages.resize(pages.len().max(page + 1), Vec::new());
        pages[page].push(placed(order.sheet, index, label)?);
    }
    let (width, height) = order.sheet.paper.size();
    let data = json!({
        "title": order.title,
        "width": length(width),
        "height": length(height),
        "is_cut": order.is_cut,
        "pages": pages,
    });
    Ok(typeset::pdf(
        include_str!("../../templates/paper/labels.typ"),
        &data,
    )?)
}

fn placed(sheet: &Sheet, index: i64, label: &Label) -> Result<Value, SheetFailed> {
    let code = Code::of(&label.address)?;
    let parts = sheet.parts((code.size(), code.size_with_quiet()));
    let parts = parts.map_err(SheetFailed::TooSmall)?;
    let corner = sheet.corner(index);
    let rectangle = |(left, top, width, height): (i64, i64, i64, i64)| json!({ "x": length(left), "y": length(top), "width": length(width), "height": length(height) });
    Ok(json!({
        "at": rectangle((corner.0, corner.1, sheet.width, sheet.height)),
        "code": rectangle(parts.code),
        "words": rectangle(parts.words),
        "fold": parts.fold.map(|(left, right)| [length(left), length(right)]),
        "svg": code.svg(),
        "number": label.number,
        "what": label.what,
        "chemistry": label.chemistry,
    }))
}

/// In mm, as the template counts.
fn length(hundredths: i64) -> f64 {
    hundredths as f64 / 100.0
}

/// One label, 60 mm wide.
pub fn svg(label: &Label) -> Result<String, PaperError> {
    let code = Code::of(&label.address)?;
    let side = 2_500.max(super::sheet::LEAST_CODE * code.size_with_quiet() / code.size() + 1);
    let width = 6_000;
    let inner = code.svg();
    let inner = inner.replacen(
        "<svg ",
        &format!("<svg x=\"0\" y=\"0\" width=\"{side}\" height=\"{side}\" "),
        1,
    );
    let room = width - side - 150;
    let line = |y: i64, size: i64, weight: i64, text: &str| {
        // About half an em a letter: wider lines are drawn in.
        let is_wide = i64::try_from(text.chars().count())
            .unwrap_or(i64::MAX)
            .saturating_mul(size * 6 / 10)
            > room;
        let narrow = if is_wide {
            format!(" textLength=\"{room}\" lengthAdjust=\"spacingAndGlyphs\"")
        } else {
            String::new()
        };
        format!(
            "<text x=\"{side}\" y=\"{y}\" font-size=\"{size}\" font-weight=\"{weight}\"{narrow}>{}</text>",
            escaped(text)
        )
    };
    Ok(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}mm\" height=\"{}mm\" viewBox=\"0 0 {width} {side}\" font-family=\"'Atkinson Hyperlegible Next', sans-serif\">\
         <title>{}</title><path fill=\"#fff\" d=\"M0 0h{width}v{side}H0z\"/>{inner}{}{}{}</svg>",
        mm(width),
        mm(side),
        escaped(&label.number),
        line(side * 40 / 100, 800, 700, &label.number),
        line(side * 63 / 100, 420, 400, &label.what),
        line(side * 83 / 100, 420, 400, &label.chemistry),
    ))
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}
