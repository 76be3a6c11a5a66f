# Builds Sandbucket and puts the one program on a small Debian. The register lives in /data (SQLite) or in PostgreSQL.
FROM rust:1.95-bookworm AS build
WORKDIR /build
COPY Cargo.toml Cargo.lock build.rs ./
COPY src src
COPY migrations migrations
COPY templates templates
COPY static static
# The manifest names the test target, so its file must be there; it is not built.
RUN mkdir -p tests/it && touch tests/it/main.rs \
 && cargo build --release --locked --bin sandbucket \
 && mkdir -p /empty/data

FROM debian:bookworm-slim
# The authorities against which a mail server is checked.
RUN apt-get update && apt-get install -y --no-install-recommends ca-certificates && rm -rf /var/lib/apt/lists/*
COPY --from=build /build/target/release/sandbucket /usr/local/bin/sandbucket
COPY --from=build --chown=10001:10001 /empty/data /data
USER 10001:10001
WORKDIR /
VOLUME /data
ENV SANDBUCKET_LISTEN=0.0.0.0:8080
EXPOSE 8080
HEALTHCHECK --interval=10s --timeout=4s --start-period=20s --retries=3 CMD ["sandbucket", "health"]
STOPSIGNAL SIGTERM
ENTRYPOINT ["sandbucket"]
CMD ["serve"]
