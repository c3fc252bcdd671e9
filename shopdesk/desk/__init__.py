"""One function for each thing people do in the shop, one transaction each."""
