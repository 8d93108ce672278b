//! Arithmetic in aperture macros: numbers, variables, `+ - x X /`, parentheses.

use std::collections::BTreeMap;

/// Values of `$1`, `$2`, ...; those never set are 0.
pub(super) type Variables = BTreeMap<u32, f64>;

/// Parentheses deeper than this are refused, so that no input can exhaust the stack.
const DEEPEST: u32 = 64;

struct Parser<'a> {
    rest: &'a [u8],
    variables: &'a Variables,
    depth: u32,
}

/// The value of an expression; an error names what could not be read.
pub(super) fn value(text: &str, variables: &Variables) -> Result<f64, String> {
    let compact: Vec<u8> = text.bytes().filter(|b| !b.is_ascii_whitespace()).collect();
    let mut parser = Parser { rest: &compact, variables, depth: 0 };
    let value = parser.sum()?;
    if parser.rest.is_empty() {
        Ok(value)
    } else {
        Err(format!("cannot read '{}' in the expression '{text}'", String::from_utf8_lossy(parser.rest)))
    }
}

impl Parser<'_> {
    fn next_is(&mut self, allowed: &[u8]) -> Option<u8> {
        let first = *self.rest.first()?;
        allowed.contains(&first).then(|| {
            self.rest = &self.rest[1..];
            first
        })
    }

    fn sum(&mut self) -> Result<f64, String> {
        let mut total = self.product()?;
        while let Some(sign) = self.next_is(b"+-") {
            let term = self.product()?;
            total += if sign == b'-' { -term } else { term };
        }
        Ok(total)
    }

    fn product(&mut self) -> Result<f64, String> {
        let mut total = self.factor()?;
        while let Some(sign) = self.next_is(b"xX/") {
            let factor = self.factor()?;
            if sign != b'/' {
                total *= factor;
            } else if factor == 0.0 {
                return Err("division by zero".to_owned());
            } else {
                total /= factor;
            }
        }
        Ok(total)
    }

    fn factor(&mut self) -> Result<f64, String> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(format!("parentheses deeper than {DEEPEST}"));
        }
        let value = match self.rest.first() {
            Some(b'-') => {
                self.rest = &self.rest[1..];
                self.factor().map(|v| -v)
            }
            Some(b'+') => {
                self.rest = &self.rest[1..];
                self.factor()
            }
            Some(b'(') => {
                self.rest = &self.rest[1..];
                let inner = self.sum()?;
                self.next_is(b")").map(|_| inner).ok_or_else(|| "a ')' is missing".to_owned())
            }
            Some(b'$') => {
                self.rest = &self.rest[1..];
                let number = self.digits(|b| b.is_ascii_digit());
                let number: u32 =
                    number.parse().map_err(|_| "a variable needs a number, such as $1".to_owned())?;
                Ok(self.variables.get(&number).copied().unwrap_or(0.0))
            }
            _ => {
                let number = self.digits(|b| b.is_ascii_digit() || b == b'.');
                number.parse::<f64>().map_err(|_| format!("'{number}' is not a number"))
            }
        };
        self.depth -= 1;
        value
    }

    fn digits(&mut self, allowed: impl Fn(u8) -> bool) -> String {
        let end = self.rest.iter().position(|b| !allowed(*b)).unwrap_or(self.rest.len());
        let (number, rest) = self.rest.split_at(end);
        self.rest = rest;
        String::from_utf8_lossy(number).into_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::{Variables, value};

    #[test]
    fn usual_arithmetic() {
        let variables = Variables::from([(1, 3.0), (2, 0.5)]);
        assert_eq!(value("$1x2-$2/2", &variables), Ok(5.75));
        assert_eq!(value("-( $1 + 1 ) X 0.5", &variables), Ok(-2.0));
        assert_eq!(value("$9", &variables), Ok(0.0));
        assert!(value("1/0", &variables).is_err());
        assert!(value("1+", &variables).is_err());
        assert!(value(&"(".repeat(10_000), &variables).is_err());
        assert!(value(&"-".repeat(10_000), &variables).is_err());
    }
}
