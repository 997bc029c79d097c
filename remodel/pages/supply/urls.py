from django.urls import path

from remodel.pages.supply.views import orders, prices, receipts, stock

urlpatterns = [
    path("house/<uuid:house_id>/prices", prices.price_list, name="price-list"),
    path("house/<uuid:house_id>/prices/confirm", prices.price_confirm, name="price-confirm"),
    path("house/<uuid:house_id>/prices/longest-board", prices.price_longest, name="price-longest"),
    path("house/<uuid:house_id>/prices/board/add", prices.price_sheet_add, name="price-sheet-add"),
    path(
        "house/<uuid:house_id>/prices/board/<str:board>/<int:thickness>",
        prices.price_sheets,
        name="price-sheets",
    ),
    path(
        "house/<uuid:house_id>/prices/material/add",
        prices.price_material_add,
        name="price-material-add",
    ),
    path("material/<uuid:material_id>/prices", prices.price_material, name="price-material"),
    path("material/<uuid:material_id>/prices/add", prices.price_pack_add, name="price-pack-add"),
    path("house/<uuid:house_id>/stores/add", prices.store_add, name="store-add"),
    path("store/<uuid:store_id>", prices.store_change, name="store-change"),
    path("store/<uuid:store_id>/remove", prices.store_remove, name="store-remove"),
    path("house/<uuid:house_id>/orders", orders.order_list, name="order-list"),
    path("house/<uuid:house_id>/orders/new", orders.order_new, name="order-new"),
    path("order/<uuid:order_id>", orders.order_detail, name="order-detail"),
    path("order/<uuid:order_id>/add", orders.order_add, name="order-add"),
    path("order/<uuid:order_id>/place", orders.order_place, name="order-place"),
    path("order/<uuid:order_id>/refresh", orders.order_refresh, name="order-refresh"),
    path("order/<uuid:order_id>/remove", orders.order_remove, name="order-remove"),
    path("order/<uuid:order_id>/close", orders.order_close, name="order-close"),
    path("order/<uuid:order_id>/take-back", orders.order_take_back, name="order-take-back"),
    path("order/<uuid:order_id>/print", orders.order_print, name="order-print"),
    path("order/<uuid:order_id>/table.csv", orders.order_csv, name="order-csv"),
    path("order/<uuid:order_id>/store", orders.order_store, name="order-store"),
    path("order/<uuid:order_id>/receive", receipts.order_receive, name="order-receive"),
    path("order-line/<uuid:line_id>", orders.order_line, name="order-line"),
    path("order-line/<uuid:line_id>/tick", orders.order_line_tick, name="order-line-tick"),
    path("order-line/<uuid:line_id>/skip", orders.order_line_skip, name="order-line-skip"),
    path("order-line/<uuid:line_id>/return", receipts.order_return, name="order-return"),
    path(
        "receipt/<uuid:receipt_id>/take-back",
        receipts.receipt_take_back,
        name="receipt-take-back",
    ),
    path("house/<uuid:house_id>/stock", stock.stock_list, name="stock-list"),
    path("house/<uuid:house_id>/stock/ledger.csv", stock.stock_csv, name="stock-csv"),
    path("house/<uuid:house_id>/stock/item/<str:item>", stock.stock_item, name="stock-item"),
    path(
        "house/<uuid:house_id>/stock/item/<str:item>/count", stock.stock_count, name="stock-count"
    ),
    path(
        "house/<uuid:house_id>/stock/item/<str:item>/spoil", stock.stock_spoil, name="stock-spoil"
    ),
    path("house/<uuid:house_id>/stock/item/<str:item>/move", stock.stock_move, name="stock-move"),
    path("movement/<uuid:movement_id>/reverse", stock.stock_reverse, name="stock-reverse"),
]
