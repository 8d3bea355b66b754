//! Where the page is served, and to whom, as a configuration says it; with whether the secrets are there.
//!
//! Must not know keys. Start reading at [`said`].

use web::access::Role;

use crate::configuration::Page;
use crate::page::wanted;

/// A sentence or two.
pub fn said(page: &Page) -> String {
    let Some(listen) = page.listen else { return "\nThe page is not served.\n".to_owned() };
    let mut lines = vec![format!("The page is served at {listen}.")];
    let passwords = [(&page.password_hash, "look and act"), (&page.look_password_hash, "look alone")];
    let passwords: Vec<&str> =
        passwords.into_iter().filter(|(hash, _)| hash.is_some()).map(|(_, may)| may).collect();
    let tokens = |role: Role| page.tokens.iter().filter(|(of, _)| *of == role).count();
    match (&passwords[..], page.tokens.len()) {
        ([], 0) => {
            lines.push("  Whoever is at this machine may look and act; nobody else reaches it.".to_owned())
        }
        (passwords, _) => {
            lines.extend(passwords.iter().map(|may| format!("  With a password somebody may {may}.")));
            for (role, may) in [(Role::Act, "look and act"), (Role::Look, "look alone")] {
                match tokens(role) {
                    0 => {}
                    1 => lines.push(format!("  With a token a program may {may}.")),
                    number => lines.push(format!("  With one of {number} tokens a program may {may}.")),
                }
            }
        }
    }
    if !page.hosts.is_empty() {
        lines.push(format!("  Browsers may also call it {}.", page.hosts.join(", ")));
    }
    let checked = wanted(page).and_then(|wanted| {
        web::Access::checked(listen, &wanted).map(|_| ()).map_err(|unfit| unfit.to_string())
    });
    if let Err(why) = checked {
        lines.push(format!("  It cannot be served from here: {why}."));
    }
    format!("\n{}\n", lines.join("\n"))
}
