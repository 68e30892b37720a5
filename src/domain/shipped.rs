//! Checklists that come with the program, as their owners would write them.

/// Name and text of each.
pub const SHIPPED: &[(&str, &str)] = &[
    ("utility-vehicle-daily", include_str!("../shipped/utility-vehicle-daily.toml")),
    ("quad-daily", include_str!("../shipped/quad-daily.toml")),
    ("compact-tractor-daily", include_str!("../shipped/compact-tractor-daily.toml")),
    ("tracked-carrier-daily", include_str!("../shipped/tracked-carrier-daily.toml")),
    ("trailer-before-towing", include_str!("../shipped/trailer-before-towing.toml")),
    ("generator-or-pump-daily", include_str!("../shipped/generator-or-pump-daily.toml")),
];

#[cfg(test)]
mod tests;
