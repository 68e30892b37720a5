//! Which work asks for skill, and who has it. A skill is named by the system it is for: brakes, steering, …

use std::collections::{BTreeMap, BTreeSet};

use super::{Param, Result, Tx};
use crate::domain::checklist::System;
use crate::domain::ids::PersonId;

impl Tx {
    /// Systems on which only the skilled work.
    pub async fn skills_needed(&mut self) -> Result<BTreeSet<System>> {
        let rows: Vec<(System,)> = self.all("SELECT system FROM skill_needed", &[]).await?;
        Ok(rows.into_iter().map(|(system,)| system).collect())
    }

    pub async fn skills_of_people(&mut self) -> Result<BTreeMap<PersonId, BTreeSet<System>>> {
        let rows: Vec<(PersonId, System)> =
            self.all("SELECT person_id, system FROM person_skill", &[]).await?;
        let mut skills: BTreeMap<PersonId, BTreeSet<System>> = BTreeMap::new();
        for (person, system) in rows {
            skills.entry(person).or_default().insert(system);
        }
        Ok(skills)
    }

    pub async fn skills_of(&mut self, person: PersonId) -> Result<BTreeSet<System>> {
        let rows: Vec<(System,)> =
            self.all("SELECT system FROM person_skill WHERE person_id = $1", &[&person]).await?;
        Ok(rows.into_iter().map(|(system,)| system).collect())
    }

    /// Replaces everything that is said of skills.
    pub async fn set_skills(
        &mut self,
        needed: &BTreeSet<System>,
        people: &[(PersonId, System)],
        of: &[PersonId],
    ) -> Result<()> {
        self.run("DELETE FROM skill_needed", &[]).await?;
        let rows: Vec<Vec<&dyn Param>> = needed.iter().map(|s| vec![s as &dyn Param]).collect();
        self.insert_rows("skill_needed (system)", &rows).await?;
        for person in of {
            self.run("DELETE FROM person_skill WHERE person_id = $1", &[person]).await?;
        }
        let rows: Vec<Vec<&dyn Param>> =
            people.iter().map(|(person, system)| vec![person as &dyn Param, system]).collect();
        self.insert_rows("person_skill (person_id, system)", &rows).await
    }
}
