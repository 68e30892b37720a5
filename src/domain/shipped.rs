//! Checklists that come with the program, as their owners would write them.

/// Name and text of each.
pub const SHIPPED: &[(&str, &str)] =
    &[("utility-vehicle-daily", include_str!("../shipped/utility-vehicle-daily.toml"))];

#[cfg(test)]
mod tests;
