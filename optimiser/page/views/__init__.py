"""Values of the domain turned into what the templates show: text and numbers, never markup."""
