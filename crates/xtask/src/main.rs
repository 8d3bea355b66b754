//! What a developer runs.
fn main() {}
