pub mod picture;
pub mod style;
