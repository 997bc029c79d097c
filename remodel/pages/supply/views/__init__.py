"""Pages of prices, orders, receipts and stock."""
