"""Chains for tests."""

from __future__ import annotations

import factory

from training.records.models import Chain


class ChainFactory(factory.django.DjangoModelFactory[Chain]):
    class Meta:
        model = Chain
