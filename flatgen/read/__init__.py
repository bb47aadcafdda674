"""Files to model: job, shop, profiles, tables of sizes."""
