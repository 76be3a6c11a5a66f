//! Has the program's relocations packed: its many formats and fonts bring some hundred thousand of them, which the loader would
//! else read whole at each start and keep in memory. Needs glibc 2.36 (Debian 12) where the program runs.

#[allow(
    clippy::disallowed_methods,
    reason = "what cargo says of the target is not the program's configuration"
)]
fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    let is = |name: &str, value: &str| std::env::var(name).is_ok_and(|set| set == value);
    if is("CARGO_CFG_TARGET_OS", "linux") && is("CARGO_CFG_TARGET_ENV", "gnu") {
        println!("cargo:rustc-link-arg-bins=-Wl,-z,pack-relative-relocs");
    }
}
