//! A code as five words, which are said over a phone and typed with gloves more surely than letters. The eight
//! letters of a code are a number below 31^8, five words of 256 one below 2^40, so every code has its words.

const WORDS: [&str; 256] = [
    "acorn", "amber", "anvil", "apple", "apron", "arrow", "aspen", "badge", "bagel", "bamboo", "banjo",
    "barn", "basin", "basket", "beach", "beacon", "bean", "berry", "birch", "blanket", "bobbin", "bonnet",
    "boot", "bottle", "boulder", "bramble", "brass", "bread", "brick", "bridge", "brook", "broom", "bucket",
    "button", "cabin", "cable", "cactus", "camel", "candle", "canoe", "canvas", "canyon", "carpet", "carrot",
    "castle", "cedar", "cello", "chalk", "cherry", "chestnut", "chimney", "cider", "cinder", "clover",
    "cobalt", "cocoa", "comet", "copper", "coral", "cotton", "cradle", "crane", "crayon", "cricket",
    "crystal", "cupboard", "cushion", "daisy", "delta", "denim", "desert", "dinner", "dolphin", "donkey",
    "dragon", "drum", "dune", "eagle", "easel", "echo", "elbow", "elder", "ember", "engine", "falcon",
    "feather", "fender", "fern", "ferry", "fiddle", "flag", "flannel", "flint", "flour", "forest", "fossil",
    "fountain", "garden", "garlic", "ginger", "glacier", "glove", "goblet", "gravel", "guitar", "hammer",
    "harbor", "hazel", "heron", "hinge", "hollow", "honey", "hornet", "island", "ivory", "jacket", "jasmine",
    "jigsaw", "jungle", "kayak", "kernel", "kettle", "kitten", "ladder", "lagoon", "lantern", "lemon",
    "lilac", "linen", "lizard", "lobster", "locket", "lumber", "magnet", "mango", "maple", "marble",
    "meadow", "melon", "meteor", "mitten", "mosaic", "muffin", "mustard", "napkin", "nectar", "needle",
    "nickel", "nutmeg", "oasis", "oboe", "olive", "onion", "opal", "orchard", "otter", "oven", "owl",
    "oyster", "paddle", "paper", "parsley", "pasture", "peach", "pebble", "pelican", "pencil", "pepper",
    "pewter", "piano", "pickle", "pigeon", "pillow", "pine", "planet", "plum", "pocket", "pollen", "pond",
    "poppy", "potato", "prairie", "puddle", "pumpkin", "quarry", "quartz", "quilt", "rabbit", "radish",
    "raven", "ribbon", "river", "robin", "rocket", "rope", "ruby", "saddle", "saffron", "salmon", "sandal",
    "satin", "sauce", "scarf", "shovel", "silver", "sled", "sparrow", "spinach", "spoon", "spruce", "squash",
    "stable", "sugar", "summit", "sunset", "swan", "table", "tailor", "teapot", "temple", "thimble",
    "thunder", "ticket", "tiger", "timber", "tomato", "topaz", "tractor", "trellis", "trumpet", "tulip",
    "tundra", "tunnel", "turnip", "turtle", "umbrella", "valley", "vanilla", "velvet", "violet", "violin",
    "wafer", "wagon", "walnut", "walrus", "water", "whistle", "wicker", "willow", "window", "winter",
    "wombat", "yarn", "yellow", "zebra", "zipper",
];
const COUNT: usize = 5;

/// The words of a code in these letters; nothing if it is not in them.
pub(crate) fn of(code: &str, letters: &[u8]) -> Option<String> {
    let base = u64::try_from(letters.len()).ok()?;
    let mut number: u64 = 0;
    for letter in code.bytes() {
        let at = letters.iter().position(|other| *other == letter)?;
        number = number.checked_mul(base)?.checked_add(u64::try_from(at).ok()?)?;
    }
    let bytes = number.to_be_bytes();
    let (_, five) = bytes.split_at_checked(8_usize.saturating_sub(COUNT))?;
    let words: Option<Vec<&str>> = five
        .iter()
        .map(|byte| WORDS.get(usize::from(*byte)).copied())
        .collect();
    Some(words?.join(" "))
}

/// The code that was typed as words, in these letters; nothing if these are not five of the words.
pub(crate) fn read(typed: &str, letters: &[u8], length: usize) -> Option<String> {
    let typed = typed.to_lowercase();
    let words: Vec<&str> = typed
        .split(|c: char| !c.is_ascii_alphabetic())
        .filter(|word| !word.is_empty())
        .collect();
    if words.len() != COUNT {
        return None;
    }
    let mut number: u64 = 0;
    for word in words {
        let at = WORDS.iter().position(|other| *other == word)?;
        number = number.checked_mul(256)?.checked_add(u64::try_from(at).ok()?)?;
    }
    let base = u64::try_from(letters.len()).ok()?;
    let mut code = Vec::new();
    for _ in 0..length {
        let at = usize::try_from(number.checked_rem(base)?).ok()?;
        code.push(*letters.get(at)?);
        number = number.checked_div(base)?;
    }
    code.reverse();
    (number == 0).then(|| String::from_utf8(code).ok())?
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    const LETTERS: &[u8; 31] = b"23456789ABCDEFGHJKMNPQRSTUVWXYZ";

    #[test]
    fn every_code_has_its_own_words_and_they_give_it_again() {
        assert_eq!(WORDS.iter().collect::<BTreeSet<_>>().len(), 256);
        let mut seen = BTreeSet::new();
        for code in ["22222222", "ZZZZZZZZ", "7KQ4M9XB", "A2A2A2A2", "23456789"] {
            let words = of(code, LETTERS).unwrap();
            assert_eq!(words.split(' ').count(), 5);
            assert!(seen.insert(words.clone()));
            assert_eq!(read(&words, LETTERS, 8).as_deref(), Some(code), "{words}");
            assert_eq!(
                read(
                    &format!(" {} ", words.to_uppercase().replace(' ', "-")),
                    LETTERS,
                    8
                )
                .as_deref(),
                Some(code)
            );
        }
        for none in [
            "",
            "7KQ4M9XB",
            "acorn acorn acorn acorn",
            "acorn acorn acorn acorn nothing",
            "zipper zipper zipper zipper zipper",
        ] {
            assert_eq!(read(none, LETTERS, 8), None, "{none}");
        }
    }
}
