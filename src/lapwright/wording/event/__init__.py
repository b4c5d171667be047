"""Words on whole days: a folder of logs, a weekend, a race."""
