//! Who is told what, as a configuration says it; with whether what they need is there.
//!
//! Must not know keys. Start reading at [`said`].

use model::Check;

use crate::configuration::{Recipient, Sending, Way};
use crate::sending;
use crate::trouble::Trouble;

/// A sentence or two for each recipient. What cannot be had here, such as a secret that only the daemon has, is said.
///
/// # Errors
/// Where a template cannot be used: that will not mend itself.
pub fn said(sending: &Sending) -> Result<String, Trouble> {
    let mut lines = Vec::new();
    if sending.recipients.is_empty() {
        lines.push("Nobody is told: there are no recipients.".to_owned());
    }
    for (name, recipient) in &sending.recipients {
        lines.extend(of_recipient(sending, name, recipient)?);
    }
    if sending.heartbeat.is_some() {
        lines.push(
            "A heartbeat's address is asked for after each round in which all was read and judged."
                .to_owned(),
        );
    }
    Ok(format!("\n{}\n", lines.join("\n")))
}

fn of_recipient(sending: &Sending, name: &str, recipient: &Recipient) -> Result<Vec<String>, Trouble> {
    let way = match &recipient.way {
        Way::Mail(to) => format!("by mail to {to}"),
        Way::Event { .. } => "by a signed event".to_owned(),
        Way::Chat { template, .. } => format!("by a text made from {}", template.display()),
    };
    let what = match (recipient.digest, recipient.alerts) {
        (true, true) => format!("a digest at {} and alerts", recipient.at.format("%H:%M")),
        (true, false) => format!("a digest at {}", recipient.at.format("%H:%M")),
        (false, true) => "alerts alone".to_owned(),
        (false, false) => "nothing by itself".to_owned(),
    };
    let mut lines = vec![format!("{name} gets {what}, {} time, {way}.", recipient.zone)];
    if let Some(shops) = &recipient.shops {
        let shops: Vec<&str> = shops.iter().map(model::ShopId::as_str).collect();
        lines.push(format!("  Of the shops {}.", shops.join(", ")));
    }
    if !recipient.checks.is_empty() {
        let checks: Vec<&str> = recipient.checks.iter().map(|check: &Check| check.word()).collect();
        lines.push(format!("  Of {} alone.", checks.join(", ")));
    }
    if recipient.least > digest::Urgency::Watch {
        lines.push(format!("  Nothing less urgent than \"{}\".", recipient.least));
    }
    if let Some((from, to)) = recipient.quiet {
        let (from, to) = (from.format("%H:%M"), to.format("%H:%M"));
        lines.push(format!("  From {from} to {to} only what cannot wait until then."));
    }
    if let Way::Chat { template, .. } = &recipient.way {
        let text = std::fs::read_to_string(template).map_err(|error| {
            Trouble::new(format!("the template {} could not be read", template.display()), error)
                .help("give the path of a JSON file; `everyline print configuration` says what stands in it")
        })?;
        digest::deliver::Template::parse(&text).map_err(|unfit| {
            Trouble::new(format!("the template {} cannot be used", template.display()), &unfit)
                .help(unfit.help())
        })?;
    }
    if let Err(why) = sending::can_send(sending, recipient) {
        lines.push(format!("  It cannot be told from here: {why}."));
    }
    Ok(lines)
}
