"""The desk: a script and its balls side by side in a browser, over the language server in the same process."""
