"""From a hypothesis to what it means at this item, and how far to trust it."""
