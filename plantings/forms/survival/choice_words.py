"""What each choice of the results does, in a sentence: for who writes an address without seeing the boxes."""

CHOICE_WORDS = {
    "measure": "The measurement.",
    "by": "What the rows are grouped by.",
    "level": "The level that a lineage is taken at.",
    "population": "Planted trees when left out, or seed sown in place.",
    "site": "Codes of sites, with commas between them; all sites when left out.",
    "jurisdiction": "Codes of states or provinces (ISO 3166-2), with commas between them; all when left out.",
    "role": "Only trees under test, or only checks; both when left out.",
    "generation": "Only lots under test of this generation, such as B3F3.",
    "protection": "Only sites with this word in their protection, or none for those without any.",
    "cause": "Only plantings that lost a tree to this cause.",
    "review": "Only censuses with every record accepted, or only those with records that nobody has accepted.",
    "open": "Also takes in censuses that are still open or thinly visited.",
    "at": "Which census of each planting: age-3, season-2025, visit-2 or latest; the oldest age that half of the plantings have reached "
    "when left out.",
    "planting": "Code of one planting.",
    "of_level": "With of_lineage: the level of the one lineage that is wanted.",
    "of_lineage": "With of_level: only this lineage, and the checks.",
    "order": "Order of the rows: by label, or by survival.",
    "then": "Of the page alone: changes nothing here.",
    "view": "Of the page alone: changes nothing here.",
}
