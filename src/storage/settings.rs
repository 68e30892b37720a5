//! The few settings that live in the database.

use super::{Result, Tx};

impl Tx {
    pub async fn setting(&mut self, name: &str) -> Result<Option<String>> {
        let row: Option<(String,)> =
            self.maybe("SELECT value FROM setting WHERE name = $1", &[&name.to_owned()]).await?;
        Ok(row.map(|r| r.0))
    }

    /// Sets it unless it is set already; the first one wins.
    pub async fn set_setting_once(&mut self, name: &str, value: &str) -> Result<()> {
        self.run(
            "INSERT INTO setting (name, value) VALUES ($1, $2) ON CONFLICT (name) DO NOTHING",
            &[&name.to_owned(), &value.to_owned()],
        )
        .await?;
        Ok(())
    }

    pub async fn set_setting(&mut self, name: &str, value: &str) -> Result<()> {
        self.run(
            "INSERT INTO setting (name, value) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
            &[&name.to_owned(), &value.to_owned()],
        )
        .await?;
        Ok(())
    }
}
