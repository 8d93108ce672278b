//! Attribute statements: `TF`, `TA`, `TO`, `TD`, also inside structured comments.

use super::object::Attribute;

/// What an attribute statement asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Statement {
    File(Attribute),
    Aperture(Attribute),
    Object(Attribute),
    /// A name, or everything but file attributes.
    Delete(Option<String>),
}

/// Reads `TF.Name,field,...` and its siblings; `None` when the text is no attribute statement.
pub(super) fn read(text: &str) -> Option<Statement> {
    let text = text.trim();
    let (kind, rest) = text.split_at_checked(2)?;
    let mut fields = rest.split(',').map(unescaped);
    let name = fields.next()?.trim().to_owned();
    if kind == "TD" {
        return Some(Statement::Delete((!name.is_empty()).then_some(name)));
    }
    let attribute = Attribute { name, fields: fields.collect() };
    if attribute.name.is_empty() {
        return None;
    }
    match kind {
        "TF" => Some(Statement::File(attribute)),
        "TA" => Some(Statement::Aperture(attribute)),
        "TO" => Some(Statement::Object(attribute)),
        _ => None,
    }
}

/// The statement in a structured comment such as `#@! TF.FileFunction,Copper,L1,Top`.
pub(super) fn in_comment(comment: &str) -> Option<Statement> {
    read(comment.trim_start().strip_prefix("#@!")?)
}

/// Resolves `\uXXXX` and the older `\XXXX`.
fn unescaped(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('\\') {
        plain.push_str(before);
        let digits = after.strip_prefix('u').unwrap_or(after);
        let code =
            digits.get(..4).and_then(|four| u32::from_str_radix(four, 16).ok()).and_then(char::from_u32);
        match code {
            Some(c) => {
                plain.push(c);
                rest = digits.get(4..).unwrap_or("");
            }
            None => {
                plain.push('\\');
                rest = after;
            }
        }
    }
    plain.push_str(rest);
    plain
}

#[cfg(test)]
mod tests {
    use super::{Statement, in_comment, read};

    #[test]
    fn statements_and_escapes() {
        let Some(Statement::File(found)) = in_comment(" #@! TF.FileFunction,Copper,L1,Top") else {
            panic!("not read")
        };
        assert_eq!((found.name.as_str(), found.fields.len()), (".FileFunction", 3));
        let Some(Statement::Object(net)) = read(r"TO.N,a\u002Cb") else { panic!("not read") };
        assert_eq!(net.fields, ["a,b"]);
        assert_eq!(read("TD"), Some(Statement::Delete(None)));
        assert_eq!(read("TD.N"), Some(Statement::Delete(Some(".N".to_owned()))));
        assert_eq!(read("FSLAX24Y24"), None);
    }
}
