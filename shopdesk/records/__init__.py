"""The shop's record: mapped classes, the engine, the migrations' runner, the audit chain."""
