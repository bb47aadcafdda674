"""Part to blank to formed part."""
