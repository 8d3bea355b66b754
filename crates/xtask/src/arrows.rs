//! Which crate of the workspace may use which, and whether they keep to it.
//!
//! The table is the one place where an arrow is allowed. Must not know how the others are built. Start reading
//! at [`TABLE`].

use anyhow::Context;
use cargo_metadata::{DependencyKind, MetadataCommand};

/// What a crate may use of ours.
enum MayUse {
    /// These alone, in tests too.
    Only(&'static [&'static str]),
    /// Every crate that has a place in the way from input to output.
    All,
}

use MayUse::{All, Only};

/// One way through and no way back: intake -> ledger -> matcher -> ledger -> digest, web, command line. The
/// stages do not know each other; the binary passes values between them. A change here is a change of the
/// architecture, and says why in DEVELOPERS.md.
const TABLE: [(&str, MayUse); 11] = [
    ("model", Only(&[])),
    ("matcher", Only(&["model"])),
    ("links", Only(&["model"])),
    ("forecast", Only(&["model"])),
    ("intake", Only(&["model"])),
    ("ledger", Only(&["model"])),
    ("digest", Only(&["model"])),
    ("web", Only(&["model", "ledger", "matcher", "links", "forecast", "digest"])),
    ("simshop", Only(&["model"])),
    ("everyline", All),
    ("xtask", All),
];

/// The crates at the end of the way: nothing may use them.
const ENDS: [&str; 2] = ["everyline", "xtask"];

/// That one crate of ours uses another.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Arrow {
    from: String,
    to: String,
    kind: DependencyKind,
}

/// The names of the workspace's crates, and their arrows among each other, as cargo sees them.
///
/// # Errors
/// Where cargo cannot say.
pub fn of_the_workspace() -> anyhow::Result<(Vec<String>, Vec<Arrow>)> {
    let manifest = crate::root()?.join("Cargo.toml");
    let metadata = MetadataCommand::new()
        .manifest_path(&manifest)
        .no_deps()
        .exec()
        .with_context(|| format!("cargo metadata failed for {}", manifest.display()))?;
    let mut arrows = Vec::new();
    for package in &metadata.packages {
        for used in package.dependencies.iter().filter(|used| used.path.is_some()) {
            arrows.push(Arrow { from: package.name.to_string(), to: used.name.clone(), kind: used.kind });
        }
    }
    Ok((metadata.packages.iter().map(|package| package.name.to_string()).collect(), arrows))
}

/// What is wrong with them, in a sentence each; empty where they keep to [`TABLE`].
pub fn faults(crates: &[String], arrows: &[Arrow]) -> Vec<String> {
    let place = |name: &str| TABLE.iter().find(|(known, _)| *known == name).map(|(_, may_use)| may_use);
    let unknown = crates.iter().filter(|name| place(name).is_none()).map(|name| {
        format!("crates/{name} has no place in the table of crates/xtask/src/arrows.rs: give it one, with what it may use")
    });
    let forbidden = arrows.iter().filter_map(|Arrow { from, to, kind }| {
        let allowed = match place(from)? {
            Only(names) => names.contains(&to.as_str()),
            All => !ENDS.contains(&to.as_str()),
        };
        let may = match place(from)? {
            Only([]) => "nothing of ours".to_owned(),
            Only(names) => names.join(", "),
            All => format!("all but {}", ENDS.join(", ")),
        };
        let section = match kind {
            DependencyKind::Development => "dev-dependencies",
            DependencyKind::Build => "build-dependencies",
            _ => "dependencies",
        };
        (!allowed).then(|| {
            format!("crates/{from}/Cargo.toml, {section}: {from} may not use {to}; it may use {may}. Pass values through the binary instead")
        })
    });
    unknown.chain(forbidden).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arrow(from: &str, to: &str, kind: DependencyKind) -> Arrow {
        Arrow { from: from.into(), to: to.into(), kind }
    }

    #[test]
    fn the_crates_of_the_workspace_keep_to_the_table() {
        let (crates, arrows) = of_the_workspace().unwrap();
        assert!(crates.iter().any(|name| name == "model"));
        assert!(arrows.contains(&arrow("matcher", "model", DependencyKind::Normal)));
        assert_eq!(faults(&crates, &arrows), Vec::<String>::new());
    }

    /// The canary: each of these must ring.
    #[test]
    fn a_forbidden_arrow_and_a_crate_without_a_place_are_named() {
        use DependencyKind::{Development, Normal};
        let (crates, arrows) = of_the_workspace().unwrap();
        for (from, to, kind) in [
            ("matcher", "intake", Normal),
            ("matcher", "simshop", Development),
            ("model", "matcher", Normal),
            ("model", "simshop", Development),
            ("digest", "matcher", Normal),
            ("links", "matcher", Development),
            ("forecast", "links", Normal),
            ("simshop", "intake", Development),
            ("intake", "ledger", Normal),
            ("web", "intake", Normal),
            ("everyline", "xtask", Normal),
            ("xtask", "everyline", Normal),
        ] {
            let mut arrows = arrows.clone();
            arrows.push(arrow(from, to, kind));
            let faults = faults(&crates, &arrows);
            assert_eq!(faults.len(), 1, "{from} -> {to}: {faults:?}");
            let section = if kind == Development { "dev-dependencies" } else { "dependencies" };
            let said = format!("crates/{from}/Cargo.toml, {section}: {from} may not use {to}");
            assert!(faults[0].starts_with(&said), "{faults:?}");
        }
        let mut crates = crates;
        crates.push("basement".into());
        let faults = faults(&crates, &arrows);
        assert!(faults.len() == 1 && faults[0].starts_with("crates/basement has no place"), "{faults:?}");
    }

    #[test]
    fn what_the_table_allows_is_allowed() {
        use DependencyKind::{Development, Normal};
        for (from, to, kind) in
            [("web", "matcher", Normal), ("everyline", "simshop", Development), ("xtask", "digest", Normal)]
        {
            assert_eq!(faults(&[], &[arrow(from, to, kind)]), Vec::<String>::new());
        }
    }
}
