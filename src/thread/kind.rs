//! What a thread is spun of, as a card says it.

/// Whether what a thread is spun of says that it glitters: `metallic` is a part of the word or words.
#[must_use]
pub fn is_metallic(kind: Option<&str>) -> bool {
    kind.is_some_and(|kind| kind.to_lowercase().contains("metallic"))
}
