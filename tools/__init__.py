"""House-keeping scripts; nothing here is installed with slipwise."""
