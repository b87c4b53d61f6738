"""The feed sheet on paper: words, layout, and the two forms it is written in, PDF and HTML."""
