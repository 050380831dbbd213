"""What the pages of papers, rules and the gate share: the lists beside each other, the caution above each."""

PAPER_LISTS = (
    ("Papers", "authorization.view", "authorization_list"),
    ("Duties", "duty.view", "duty_list"),
    ("Calendar", "duty.view", "calendar"),
    ("Incidents", "incident.view", "incident_list"),
    ("Rules", "rule.view", "requirement_list"),
    ("Material classes", "rule.view", "materialclass_list"),
    ("Gate answers", "determination.view", "determination_list"),
    ("Who holds what", "authorization.view", "authorization_holders"),
    ("Prints", "issued.view", "issuedprint_list"),
    ("Agreement texts", "authorization.view", "agreementtext_list"),
    ("Messages from landowners", "landnotice.view", "landnotice_list"),
)
AUTHORITY_CAUTION = {
    "title": "Check with the local authority",
    "text": "Mastbook records what the paper says. What it means for a movement or a planting is for the authority to say.",
}
RULE_CAUTION = AUTHORITY_CAUTION | {
    "text": "Mastbook records what the programme read in a law or a regulation. What it means is for the authority to say.",
}
