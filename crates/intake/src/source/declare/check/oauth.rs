//! The keys of a sign-in with a grant: what each must be, and which belong together.
//!
//! Nothing that may be a secret is repeated. Start reading at [`sign_in`].

use std::path::PathBuf;

use super::{SignInKeys, is_header_value, safe_address, secret, sounds_secret};
use crate::source::declare::error::DeclarationError;
use crate::source::declare::{ClientAuthentication, Grant, OAuth, SignIn};
use url::Url;

/// What the protocol says itself. Source: RFC 6749, section 11.2, and RFC 7636, section 6.1.
const OWN_PARAMETERS: [&str; 13] = [
    "client_id",
    "client_secret",
    "code",
    "code_challenge",
    "code_challenge_method",
    "code_verifier",
    "grant_type",
    "redirect_uri",
    "refresh_token",
    "response_type",
    "scope",
    "state",
    "access_token",
];

/// The first key that belongs to a grant alone.
pub(super) fn first_key_of_a_grant(keys: &SignInKeys) -> Option<&'static str> {
    let given = [
        ("authorize_address", keys.authorize_address.is_some()),
        ("token_address", keys.token_address.is_some()),
        ("client_id", keys.client_id.is_some()),
        ("client_authentication", keys.client_authentication.is_some()),
        ("scope", keys.scope.is_some()),
        ("parameters", !keys.parameters.is_empty()),
        ("tokens", keys.tokens.is_some()),
    ];
    given.into_iter().find(|(_, is_given)| *is_given).map(|(key, _)| key)
}

/// A sign-in that has a grant.
pub(super) fn sign_in(keys: &SignInKeys) -> Result<SignIn, DeclarationError> {
    let others =
        [("header", keys.header.is_some()), ("before", keys.before.is_some()), ("user", keys.user.is_some())];
    if let Some((key, _)) = others.into_iter().find(|(_, is_given)| *is_given) {
        return Err(DeclarationError::new(format!("has {key} beside grant; expected is one of them")));
    }
    let grant = match keys.grant.as_deref() {
        Some("client_credentials") => client_credentials(keys)?,
        Some("authorization_code") => authorization_code(keys)?,
        // What stands there may be a secret.
        _ => {
            let text =
                "is no grant that is known; expected is \"client_credentials\" or \"authorization_code\"";
            return Err(DeclarationError::new(text).under("grant"));
        }
    };
    let token_address = address(keys.token_address.as_deref(), "token_address")?;
    let client_id = keys.client_id.clone().unwrap_or_default();
    // Source: RFC 6749, appendix A.1.
    if client_id.is_empty() || !is_header_value(&client_id) {
        let text = "is not there, empty, or has other characters than printable ASCII in it; expected is the id of the client, \
                    as the service gave it";
        return Err(DeclarationError::new(text).under("client_id"));
    }
    let secret = keys
        .secret
        .as_ref()
        .map(secret)
        .transpose()
        .map_err(|error: DeclarationError| error.under("secret"))?;
    let client_authentication = match keys.client_authentication.as_deref() {
        None | Some("basic") => ClientAuthentication::Basic,
        Some("body") => ClientAuthentication::Body,
        Some(_) => {
            let text = "is no way that is known; expected is \"basic\" or \"body\"";
            return Err(DeclarationError::new(text).under("client_authentication"));
        }
    };
    if secret.is_none() && keys.client_authentication.is_some() {
        let text = "has client_authentication and no secret; expected is it beside secret alone";
        return Err(DeclarationError::new(text));
    }
    Ok(SignIn::OAuth(Box::new(OAuth {
        grant,
        token_address,
        client_id,
        secret,
        client_authentication,
        scope: scope(keys)?,
        parameters: parameters(keys)?,
    })))
}

fn client_credentials(keys: &SignInKeys) -> Result<Grant, DeclarationError> {
    let of_the_other =
        [("authorize_address", keys.authorize_address.is_some()), ("tokens", keys.tokens.is_some())];
    if let Some((key, _)) = of_the_other.into_iter().find(|(_, is_given)| *is_given) {
        return Err(DeclarationError::new(format!(
            "has {key} beside client_credentials; expected is it beside authorization_code alone"
        )));
    }
    // Source: RFC 6749, section 4.4: only a client that can prove who it is.
    if keys.secret.is_none() {
        let text =
            "has no secret; expected is where it is kept, such as secret = { environment = \"TILL_KEY\" }";
        return Err(DeclarationError::new(text));
    }
    Ok(Grant::ClientCredentials)
}

fn authorization_code(keys: &SignInKeys) -> Result<Grant, DeclarationError> {
    let authorize_address = address(keys.authorize_address.as_deref(), "authorize_address")?;
    let tokens = match keys.tokens.as_deref() {
        Some("") => {
            return Err(
                DeclarationError::found("empty", "the path of a file to keep tokens in").under("tokens")
            );
        }
        tokens => tokens.map(PathBuf::from),
    };
    Ok(Grant::AuthorizationCode { authorize_address, tokens })
}

/// Source: RFC 6749, sections 3.1 and 3.2: it may have a query, and has no fragment.
fn address(text: Option<&str>, key: &str) -> Result<Url, DeclarationError> {
    let expected = format!(
        r#"an address that begins with https:// (http:// on loopback alone), such as "https://shop.example/oauth/{}""#,
        key.trim_end_matches("_address")
    );
    let Some(text) = text else {
        return Err(DeclarationError::new(format!("has no {key}; expected is {expected}")));
    };
    let url = safe_address(text, &expected).map_err(|error| error.under(key))?;
    if url.fragment().is_some() {
        return Err(DeclarationError::new("has a # in it; expected is an address without").under(key));
    }
    if let Some((name, _)) = url.query_pairs().find(|(name, _)| is_taken(name) || sounds_secret(name)) {
        let text = if is_taken(&name) {
            format!("has {name} in it, which everyline says itself; expected is an address without")
        } else {
            "has something in it that is secret by its name; expected is an address without".to_owned()
        };
        return Err(DeclarationError::new(text).under(key));
    }
    Ok(url)
}

/// Source: RFC 6749, section 3.3.
fn scope(keys: &SignInKeys) -> Result<Option<String>, DeclarationError> {
    let Some(scope) = &keys.scope else { return Ok(None) };
    let is_word = |word: &str| {
        !word.is_empty()
            && word.bytes().all(|byte| (0x21..0x7f).contains(&byte) && byte != b'"' && byte != b'\\')
    };
    if !scope.split(' ').all(is_word) {
        let text =
            "is empty or no list of words; expected are words of printable ASCII with one blank between them";
        return Err(DeclarationError::new(text).under("scope"));
    }
    Ok(Some(scope.clone()))
}

fn parameters(keys: &SignInKeys) -> Result<Vec<(String, String)>, DeclarationError> {
    for (name, value) in &keys.parameters {
        let text = if is_taken(name) {
            "is what everyline says itself; expected are others, such as audience or resource"
        } else if sounds_secret(name) {
            "holds a secret by its name, and addresses are written into logs; expected are parameters without secrets"
        } else if name.is_empty() || !is_header_value(name) || !is_header_value(value) {
            "has other characters than printable ASCII in it, or no name"
        } else {
            continue;
        };
        return Err(DeclarationError::new(text).under(name).under("parameters"));
    }
    Ok(keys.parameters.clone().into_iter().collect())
}

fn is_taken(name: &str) -> bool {
    OWN_PARAMETERS.contains(&name)
}
