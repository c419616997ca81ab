"""Long jobs in processes of their own, for a program that must not wait; knows no Qt."""

from splitplanner.background.worker import PATIENCE, Order, Worker

__all__ = ["PATIENCE", "Order", "Worker"]
