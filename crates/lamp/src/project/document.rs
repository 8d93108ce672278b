//! A project text as written: tables and values with their places, read against a key table.
//!
//! Any text of the lamp folder is read this way; a crate above brings its own key table and gets the same messages.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::keys::{Form, Key, nearest};
use super::quantity::Quantity;
use crate::findings::FindingRemark;

/// A text file being read, and what there is to say about it.
pub struct Document<'a> {
    /// Name of the file, for remarks.
    pub file: &'a str,
    /// Its text.
    pub text: &'a str,
    /// Every key that may stand in it.
    pub keys: &'static [Key],
    /// Which tables may stand where: parent, name, whether it is a list.
    pub tables: &'static [(&'static str, &'static str, bool)],
    remarks: RefCell<Vec<FindingRemark>>,
    read: RefCell<BTreeSet<(&'static str, &'static str)>>,
}

/// A table of a document.
#[derive(Clone, Copy)]
pub struct Section<'a> {
    /// The document it stands in.
    pub document: &'a Document<'a>,
    /// Name in the key table, such as "bond".
    pub kind: &'static str,
    /// Its keys and values.
    pub table: &'a DeTable<'a>,
    /// Where it begins.
    pub at: usize,
}

/// How a supply pad is told.
#[derive(Debug, Clone, PartialEq)]
pub enum PadWords {
    /// By the name of a pad or of a net.
    Named(String),
    /// By its place, m.
    At([f64; 2]),
}

type Value<'a> = Spanned<DeValue<'a>>;

impl<'a> Document<'a> {
    /// A document that nothing was read of yet.
    #[must_use]
    pub fn new(
        file: &'a str,
        text: &'a str,
        keys: &'static [Key],
        tables: &'static [(&'static str, &'static str, bool)],
    ) -> Self {
        Self { file, text, keys, tables, remarks: RefCell::default(), read: RefCell::default() }
    }

    /// Line and column, from 1, of a byte.
    fn place(&self, at: usize) -> (u32, u32) {
        let mut end = at.min(self.text.len());
        while !self.text.is_char_boundary(end) {
            end -= 1;
        }
        let before = &self.text[..end];
        let line = before.bytes().filter(|b| *b == b'\n').count();
        let column = before.rsplit('\n').next().map_or(0, |tail| tail.chars().count());
        (line as u32 + 1, column as u32 + 1)
    }

    /// Remarks on a byte of the text.
    pub fn say(&self, severity: &'static str, at: usize, text: String) {
        let (line, column) = self.place(at);
        self.remarks.borrow_mut().push(FindingRemark {
            severity,
            file: Some(self.file.to_owned()),
            line: Some(line),
            column: Some(column),
            text,
        });
    }

    /// An error at a byte of the text.
    pub fn error(&self, at: usize, text: impl Into<String>) {
        self.say("error", at, text.into());
    }

    /// A warning at a byte of the text.
    pub fn warn(&self, at: usize, text: impl Into<String>) {
        self.say("warning", at, text.into());
    }

    /// All remarks so far, taken out.
    pub fn take_remarks(&self) -> Vec<FindingRemark> {
        self.remarks.take()
    }

    /// Keys read so far, for the tests that compare them with the key table.
    #[must_use]
    pub fn keys_read(&self) -> BTreeSet<(&'static str, &'static str)> {
        self.read.borrow().clone()
    }

    /// A key of a table.
    fn key(&self, table: &str, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.table == table && key.name == name)
    }

    /// Tables whose own tables have names of the maker's, such as `[variant.NAME]`: those with keys and no place of their own.
    fn named_tables(&self) -> impl Iterator<Item = &'static str> {
        let placed = |table: &str| table.is_empty() || self.tables.iter().any(|(_, name, _)| *name == table);
        let mut before = "";
        let starts =
            self.keys.iter().filter(move |key| std::mem::replace(&mut before, key.table) != key.table);
        starts.map(|key| key.table).filter(move |table| !placed(table))
    }

    /// Says which keys of a table nobody knows.
    pub fn check_names(&self, kind: &str, table: &DeTable<'_>) {
        for (name, value) in table {
            let as_table =
                self.tables.iter().any(|(parent, table, _)| *parent == kind && table == name.get_ref());
            let is_key = self.key(kind, name.get_ref()).is_some();
            let any_name = kind.is_empty() && self.named_tables().any(|table| table == name.get_ref());
            if as_table || is_key || any_name {
                let list = self.tables.iter().any(|(p, t, list)| *p == kind && t == name.get_ref() && *list);
                if as_table && !is_key && list && !value.get_ref().is_array() {
                    self.error(
                        name.span().start,
                        format!(
                            "\"{0}\" is a list of tables: write [[{0}]] with two brackets",
                            name.get_ref()
                        ),
                    );
                } else if as_table && !is_key && !list && !value.get_ref().is_table() {
                    self.error(
                        name.span().start,
                        format!("\"{0}\" is a table: write [{0}] and its keys below", name.get_ref()),
                    );
                }
                continue;
            }
            let known: Vec<&str> = self
                .keys
                .iter()
                .filter(|key| key.table == kind)
                .map(|key| key.name)
                .chain(self.tables.iter().filter(|(parent, ..)| *parent == kind).map(|(_, name, _)| *name))
                .chain(self.named_tables().filter(|_| kind.is_empty()))
                .collect();
            let place = if kind.is_empty() { "at the top level".to_owned() } else { format!("in [{kind}]") };
            let hint = match nearest(name.get_ref(), known.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("known {place} are: {}", known.join(", ")),
            };
            self.error(name.span().start, format!("unknown key \"{}\" {place}; {hint}", name.get_ref()));
        }
    }
}

impl<'a> Section<'a> {
    /// A section; says what is unknown in it and what it misses.
    pub fn new(document: &'a Document<'a>, kind: &'static str, table: &'a DeTable<'a>, at: usize) -> Self {
        document.check_names(kind, table);
        let section = Self { document, kind, table, at };
        for key in document.keys.iter().filter(|key| key.table == kind && key.required) {
            if section.raw(key.name).is_none() {
                document.error(at, format!("[{kind}] misses \"{}\": {}", key.name, key.meaning));
            }
        }
        section
    }

    /// The value of a key, whatever it is.
    pub fn raw(&self, name: &str) -> Option<&'a Value<'a>> {
        self.table.iter().find(|(key, _)| key.get_ref() == name).map(|(_, value)| value)
    }

    /// Whether a key is there.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.raw(name).is_some()
    }

    /// Where a key's value stands; the section's beginning when it is missing.
    pub fn place(&self, name: &str) -> usize {
        self.raw(name).map_or(self.at, |value| value.span().start)
    }

    fn form(&self, name: &'static str) -> Option<Form> {
        self.document.read.borrow_mut().insert((self.kind, name));
        self.document.key(self.kind, name).map(|key| key.form)
    }

    fn wrong<T>(&self, value: &Value<'_>, name: &str, allowed: &str) -> Option<T> {
        let read = short(value.get_ref());
        self.document.error(value.span().start, format!("{name} = {read}: {allowed}"));
        None
    }

    /// Free text.
    pub fn text(&self, name: &'static str) -> Option<String> {
        self.form(name);
        let value = self.raw(name)?;
        match value.get_ref().as_str() {
            Some(text) => Some(text.to_owned()),
            None => self.wrong(value, name, "a text in quotes is needed"),
        }
    }

    /// Free text, or the key table's default.
    pub fn text_or_default(&self, name: &'static str) -> String {
        self.text(name).unwrap_or_else(|| self.default_text(name).to_owned())
    }

    /// What the key table takes when a key is missing; empty where nothing.
    #[must_use]
    pub fn default_text(&self, name: &str) -> &'static str {
        self.document.key(self.kind, name).and_then(|key| key.default).unwrap_or_default()
    }

    /// One of the words of the key table.
    pub fn choice(&self, name: &'static str) -> Option<&'static str> {
        let Some(Form::Choice(words)) = self.form(name) else { return None };
        let value = self.raw(name)?;
        let found = value
            .get_ref()
            .as_str()
            .and_then(|text| words.iter().find(|word| word.eq_ignore_ascii_case(text.trim())));
        match found {
            Some(word) => Some(word),
            None => self.wrong(value, name, &format!("one of \"{}\" is allowed", words.join("\", \""))),
        }
    }

    /// One of the words of the key table, or its default.
    pub fn choice_or_default(&self, name: &'static str) -> &'static str {
        self.choice(name).unwrap_or_else(|| self.default_text(name))
    }

    /// `true` or `false`, or the key table's default.
    pub fn flag_or_default(&self, name: &'static str) -> bool {
        self.form(name);
        let default = self.default_text(name) == "true";
        match self.raw(name) {
            None => default,
            Some(value) => value
                .get_ref()
                .as_bool()
                .or_else(|| self.wrong(value, name, "true or false is needed"))
                .unwrap_or(default),
        }
    }

    /// A value with its unit, within the key table's limits.
    pub fn value(&self, name: &'static str) -> Option<f64> {
        let Some(Form::Value(quantity, low, high)) = self.form(name) else { return None };
        self.one(self.raw(name)?, name, quantity, low, high)
    }

    /// A value with its unit, or the key table's default.
    pub fn value_or_default(&self, name: &'static str) -> f64 {
        let Some(Form::Value(quantity, ..)) = self.form(name) else { return f64::NAN };
        self.value(name).unwrap_or_else(|| quantity.read(self.default_text(name)).unwrap_or(f64::NAN))
    }

    /// A list of texts.
    pub fn texts(&self, name: &'static str) -> Vec<(String, usize)> {
        self.form(name);
        let Some(value) = self.raw(name) else { return Vec::new() };
        if let Some(text) = value.get_ref().as_str() {
            return vec![(text.to_owned(), value.span().start)];
        }
        let Some(array) = value.get_ref().as_array() else {
            self.wrong::<()>(value, name, "a list of texts is needed, such as [\"D1\", \"D2\"]");
            return Vec::new();
        };
        array
            .iter()
            .filter_map(|item| match item.get_ref().as_str() {
                Some(text) => Some((text.to_owned(), item.span().start)),
                None => self.wrong(item, name, "a text in quotes is needed"),
            })
            .collect()
    }

    /// A list of values; a single value counts as a list of one.
    pub fn values(&self, name: &'static str) -> Option<Vec<f64>> {
        let Some(Form::Values(quantity, low, high)) = self.form(name) else { return None };
        let value = self.raw(name)?;
        match value.get_ref().as_array() {
            None => Some(vec![self.one(value, name, quantity, low, high)?]),
            Some(array) => array.iter().map(|item| self.one(item, name, quantity, low, high)).collect(),
        }
    }

    /// Two values.
    pub fn pair(&self, name: &'static str) -> Option<[f64; 2]> {
        let Some(Form::Pair(quantity, low, high)) = self.form(name) else { return None };
        self.two(self.raw(name)?, name, quantity, low, high)
    }

    /// Two values, or the key table's default.
    pub fn pair_or_default(&self, name: &'static str) -> [f64; 2] {
        let Some(Form::Pair(quantity, ..)) = self.form(name) else { return [f64::NAN; 2] };
        self.pair(name).unwrap_or_else(|| {
            let (x, y) = self.default_text(name).split_once(',').unwrap_or(("", ""));
            [x, y].map(|text| quantity.read(text).unwrap_or(f64::NAN))
        })
    }

    /// A supply pad: a name, or a place (m) on the board.
    pub fn pad(&self, name: &'static str) -> Option<PadWords> {
        self.form(name);
        let value = self.raw(name)?;
        match value.get_ref() {
            DeValue::String(text) if !text.trim().is_empty() => Some(PadWords::Named(text.trim().to_owned())),
            DeValue::Array(_) => {
                self.two(value, name, Quantity::Length, -1.0, 1.0).map(|[x, y]| PadWords::At([x, y]))
            }
            _ => self.wrong(
                value,
                name,
                "a pad such as \"J1.1\", a net's name, or a place such as [\"3 mm\", \"33 mm\"] is needed",
            ),
        }
    }

    /// A list of pairs.
    pub fn pairs(&self, name: &'static str) -> Option<Vec<[f64; 2]>> {
        let Some(Form::Pairs(quantity, low, high)) = self.form(name) else { return None };
        let value = self.raw(name)?;
        let Some(array) = value.get_ref().as_array() else {
            return self.wrong(value, name, "a list of pairs is needed, such as [[\"18 mm\", \"15 mm\"]]");
        };
        // A lone pair stands for a list of one.
        if array.iter().all(|item| !item.get_ref().is_array()) && array.len() == 2 {
            return Some(vec![self.two(value, name, quantity, low, high)?]);
        }
        array.iter().map(|item| self.two(item, name, quantity, low, high)).collect()
    }

    /// A curve with ascending first values.
    pub fn curve(&self, name: &'static str) -> Option<Vec<(f64, f64)>> {
        let Some(Form::Curve(first, second)) = self.form(name) else { return None };
        let value = self.raw(name)?;
        let example =
            format!("a list of pairs is needed, such as [[{}, {}]]", first.example(), second.example());
        let Some(array) = value.get_ref().as_array().filter(|array| !array.is_empty()) else {
            return self.wrong(value, name, &example);
        };
        let mut curve: Vec<(f64, f64)> = Vec::new();
        for item in array.iter() {
            let pair =
                item.get_ref().as_array().and_then(|pair| Some((pair.first()?, pair.get(1)?, pair.len())));
            let Some((x, y, 2)) = pair else { return self.wrong(item, name, &example) };
            let x = self.one(x, name, first, f64::NEG_INFINITY, f64::INFINITY)?;
            let y = self.one(y, name, second, 0.0, f64::INFINITY)?;
            if curve.last().is_some_and(|(before, _)| *before >= x) {
                return self.wrong(item, name, "the first values must ascend");
            }
            curve.push((x, y));
        }
        Some(curve)
    }

    fn two(
        &self,
        value: &Value<'_>,
        name: &str,
        quantity: Quantity,
        low: f64,
        high: f64,
    ) -> Option<[f64; 2]> {
        let pair =
            value.get_ref().as_array().and_then(|array| Some((array.first()?, array.get(1)?, array.len())));
        let Some((x, y, 2)) = pair else {
            let example = quantity.example();
            return self.wrong(
                value,
                name,
                &format!("two values are needed, such as [{example}, {example}]"),
            );
        };
        Some([self.one(x, name, quantity, low, high)?, self.one(y, name, quantity, low, high)?])
    }

    /// One value with its unit; a bare number is allowed where the quantity has no unit.
    fn one(&self, value: &Value<'_>, name: &str, quantity: Quantity, low: f64, high: f64) -> Option<f64> {
        let read = match value.get_ref() {
            DeValue::String(text) => quantity.read(text),
            DeValue::Integer(number) => quantity.read(number.as_str().replace('_', "").as_str()),
            DeValue::Float(number) => quantity.read(number.as_str().replace('_', "").as_str()),
            _ => Err(format!("a {} is needed, such as {}", quantity.name(), quantity.example())),
        };
        let found = match read {
            Ok(found) => found,
            Err(text) => {
                self.document.error(value.span().start, format!("{name}: {text}"));
                return None;
            }
        };
        if !(low..=high).contains(&found) {
            let allowed = format!("allowed is {} to {}", shown(low, quantity), shown(high, quantity));
            return self.wrong(value, name, &allowed);
        }
        Some(found)
    }

    /// A table inside this one.
    pub fn section(&self, name: &'static str) -> Option<Section<'a>> {
        let value = self.raw(name)?;
        let table = value.get_ref().as_table()?;
        Some(Section::new(self.document, name, table, value.span().start))
    }

    /// A list of tables inside this one.
    pub fn sections(&self, name: &'static str) -> Vec<Section<'a>> {
        let Some(array) = self.raw(name).and_then(|value| value.get_ref().as_array()) else {
            return Vec::new();
        };
        array
            .iter()
            .filter_map(|item| match item.get_ref().as_table() {
                Some(table) => Some(Section::new(self.document, name, table, item.span().start)),
                None => self.wrong(item, name, &format!("a table is needed: write [[{name}]]")),
            })
            .collect()
    }

    /// An error at a key's value.
    pub fn error(&self, name: &str, text: impl Into<String>) {
        self.document.error(self.place(name), text);
    }

    /// A warning at a key's value.
    pub fn warn(&self, name: &str, text: impl Into<String>) {
        self.document.warn(self.place(name), text);
    }
}

/// A limit in its quantity's customary unit.
fn shown(value: f64, quantity: Quantity) -> String {
    match quantity.units().first() {
        None => format!("{value}"),
        Some((symbol, size)) => {
            let rounded = format!("{:.6e}", value / size).parse::<f64>().unwrap_or(value / size);
            format!("{rounded} {symbol}")
        }
    }
}

/// A value as it was typed, shortened.
fn short(value: &DeValue<'_>) -> String {
    let text = match value {
        DeValue::String(text) => format!("\"{text}\""),
        DeValue::Integer(number) => number.as_str().to_owned(),
        DeValue::Float(number) => number.as_str().to_owned(),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(_) => "a date".to_owned(),
        DeValue::Array(array) => format!("a list of {}", array.len()),
        DeValue::Table(_) => "a table".to_owned(),
    };
    if text.chars().count() > 60 { text.chars().take(57).chain("...".chars()).collect() } else { text }
}

/// Syntax errors of a document.
pub fn say_syntax(document: &Document<'_>, errors: &[toml::de::Error]) {
    for error in errors {
        let at = error.span().map_or(0, |Range { start, .. }| start);
        document.error(at, format!("not readable as TOML: {}", error.message().trim()));
    }
}
