//! Whose certificates are believed where the program itself asks another server: the machine's own authorities and those that the
//! settings add. Nothing turns the check off.

use crate::config::Authorities;
use std::sync::Arc;
use tokio_rustls::rustls::{ClientConfig, RootCertStore, crypto::ring};

pub fn client(more: Option<&Authorities>) -> Result<ClientConfig, String> {
    let mut roots = RootCertStore::empty();
    roots.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
    for certificate in more.into_iter().flat_map(|more| &more.0) {
        let added = roots.add(certificate.clone());
        added.map_err(|error| error.to_string())?;
    }
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(|error| error.to_string())?;
    Ok(config.with_root_certificates(roots).with_no_client_auth())
}
