"""The phrase language of one item: a finite-state grammar whose phrases carry meanings."""
