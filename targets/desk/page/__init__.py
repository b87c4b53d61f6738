"""What the browser loads: the page, its style, and its script as `package.json` builds it from the modules here."""
