"""What a person reads: screens, pages, sheets, plans, charts."""
