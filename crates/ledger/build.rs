//! Builds again where a migration is added: they are read when the crate is compiled.

fn main() {
    println!("cargo:rerun-if-changed=../../migrations");
}
