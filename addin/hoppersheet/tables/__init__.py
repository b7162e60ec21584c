"""What has headings: job lists (files and ranges), the catalog, the resin table."""
