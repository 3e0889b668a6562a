//! A map that is written in the order in which it was made, not by hash and not by alphabet.

use serde::ser::{Serialize, SerializeMap, Serializer};

/// Pairs that become a JSON object with its keys in this order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ordered<V>(pub Vec<(String, V)>);

impl<V> Ordered<V> {
    /// The value of a key.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&V> {
        self.0.iter().find(|(name, _)| name == key).map(|(_, value)| value)
    }

    /// The pairs, in order.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &V)> {
        self.0.iter().map(|(key, value)| (key.as_str(), value))
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl<V> FromIterator<(String, V)> for Ordered<V> {
    fn from_iter<I: IntoIterator<Item = (String, V)>>(pairs: I) -> Self {
        Self(pairs.into_iter().collect())
    }
}

impl<V: Serialize> Serialize for Ordered<V> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (key, value) in &self.0 {
            map.serialize_entry(key, value)?;
        }
        map.end()
    }
}

#[cfg(test)]
mod tests {
    use super::Ordered;

    #[test]
    fn the_order_of_making_is_kept_and_what_is_no_number_becomes_null() {
        let map: Ordered<f64> = [("z".to_owned(), 1.0), ("a".to_owned(), f64::NAN)]
            .into_iter()
            .collect();
        assert_eq!(serde_json::to_string(&map).expect("json"), r#"{"z":1.0,"a":null}"#);
        assert_eq!(map.get("z"), Some(&1.0));
    }
}
