//! QR codes (ISO/IEC 18004) at level Q, which survives the loss of a quarter of its words: a label on a pack gets scuffed.

use super::PaperError;
use qrcodegen::{QrCode, QrCodeEcc};

/// Light modules on each side that a reader needs (ISO/IEC 18004, 6.3.8).
pub const QUIET_MODULES: i64 = 4;

pub struct Code {
    modules: QrCode,
}

impl Code {
    pub fn of(address: &str) -> Result<Self, PaperError> {
        QrCode::encode_text(address, QrCodeEcc::Quartile)
            .map(|modules| Self { modules })
            .map_err(|error| PaperError(error.to_string()))
    }

    /// Modules on one side, without the quiet border.
    pub fn size(&self) -> i64 {
        i64::from(self.modules.size())
    }

    /// With the quiet border on both sides.
    pub fn size_with_quiet(&self) -> i64 {
        self.size() + 2 * QUIET_MODULES
    }

    /// A path over the dark modules, one unit each, the quiet border around them counted in: `M4 4h7v1h-7z…`. Neighbours
    /// in a row are one stroke, so that no hairline shows between them.
    pub fn path(&self) -> String {
        use std::fmt::Write;
        let mut path = String::new();
        let size = self.modules.size();
        for y in 0..size {
            let mut x = 0;
            while x < size {
                let start = x;
                while x < size && self.modules.get_module(x, y) {
                    x += 1;
                }
                let width = x - start;
                if width > 0 {
                    let (left, top) = (
                        i64::from(start) + QUIET_MODULES,
                        i64::from(y) + QUIET_MODULES,
                    );
                    let _ = write!(path, "M{left} {top}h{width}v1h-{width}z");
                }
                x += 1;
            }
        }
        path
    }

    /// The code alone, quiet border included, as large as what it is put into.
    pub fn svg(&self) -> String {
        let size = self.size_with_quiet();
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {size} {size}\" shape-rendering=\"crispEdges\">\
             <path fill=\"#fff\" d=\"M0 0h{size}v{size}H0z\"/><path d=\"{}\"/></svg>",
            self.path()
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// rqrr, a reader written by others, from a picture of four dots a module.
    fn read(code: &Code) -> String {
        const DOTS: usize = 4;
        let size = usize::try_from(code.size_with_quiet()).expect("a size");
        let module = |at: usize| i32::try_from(at / DOTS).expect("a module") - 4;
        let mut picture =
            rqrr::PreparedImage::prepare_from_greyscale(size * DOTS, size * DOTS, |x, y| {
                if code.modules.get_module(module(x), module(y)) {
                    0
                } else {
                    255
                }
            });
        let grids = picture.detect_grids();
        grids[0].decode().expect("readable").1
    }

    #[test]
    fn an_address_is_read_back_by_a_reader_of_others() {
        let address = "http://192.168.100.200:8080/t/0123456789abcdefghjkmnpqrs";
        let code = Code::of(address).expect("a code");
        assert_eq!(read(&code), address);
        assert_eq!(
            code.size(),
            37,
            "version 5 at level Q holds 60 bytes (ISO/IEC 18004, table 7)"
        );
    }

    #[test]
    fn the_path_covers_each_dark_module_once_and_leaves_the_quiet_border() {
        let code = Code::of("http://packs.example/t/0123456789abcdefghjkmnpqrs").expect("a code");
        let dark = (0..code.modules.size())
            .flat_map(|y| (0..code.modules.size()).map(move |x| (x, y)))
            .filter(|(x, y)| code.modules.get_module(*x, *y))
            .count();
        let path = code.path();
        let widths = path.split('M').skip(1).map(|stroke| {
            let (at, rest) = stroke.split_once('h').expect("a stroke");
            let (x, y) = at.split_once(' ').expect("two numbers");
            let (x, y): (i64, i64) = (x.parse().expect("x"), y.parse().expect("y"));
            let width: i64 = rest
                .split_once('v')
                .expect("a height")
                .0
                .parse()
                .expect("a width");
            let inside = QUIET_MODULES..QUIET_MODULES + code.size();
            assert!(inside.contains(&x) && inside.contains(&y) && x + width <= inside.end);
            width
        });
        assert_eq!(widths.sum::<i64>(), i64::try_from(dark).expect("a count"));
    }
}
