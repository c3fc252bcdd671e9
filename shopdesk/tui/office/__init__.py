"""The office: backlog by whose move it is, quotes awaiting answer."""
