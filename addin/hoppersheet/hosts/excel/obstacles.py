"""What on a Windows machine keeps Excel from reaching Python, read from the registry and the paths.

Each rule is data: where it stands, which value turns it on, and one sentence for the user and one
for IT. The places are those of Microsoft's policy templates for Office 2016 and later and of its
documentation of attack surface reduction rules (from memory; not tried on a managed machine).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from .folders import Folders

__all__ = ["NOTES", "Obstacle", "Registry", "WindowsRegistry", "notes", "obstacles"]


class Registry(Protocol):
    """As much of the Windows registry as is asked for."""

    def value(self, hive: str, key: str, name: str) -> Any:
        """A value, None where it is not there. ``hive`` is ``"HKCU"`` or ``"HKLM"``."""

    def values(self, hive: str, key: str) -> dict[str, Any]:
        """Every value of a key, empty where it is not there."""


class WindowsRegistry:
    """The registry of this machine."""

    def values(self, hive: str, key: str) -> dict[str, Any]:
        """See :class:`Registry`."""
        import winreg

        root = getattr(winreg, {"HKCU": "HKEY_CURRENT_USER", "HKLM": "HKEY_LOCAL_MACHINE"}[hive])
        found: dict[str, Any] = {}
        try:
            with winreg.OpenKey(root, key) as opened:  # type: ignore[attr-defined]
                for index in range(winreg.QueryInfoKey(opened)[1]):  # type: ignore[attr-defined]
                    name, value, _ = winreg.EnumValue(opened, index)  # type: ignore[attr-defined]
                    found[name] = value
        except OSError:
            return {}
        return found

    def value(self, hive: str, key: str, name: str) -> Any:
        """See :class:`Registry`."""
        lower = {known.lower(): value for known, value in self.values(hive, key).items()}
        return lower.get(name.lower())


@dataclass(frozen=True)
class Obstacle:
    """Something that stands in the way.

    Attributes:
        what: which part it concerns, one word or two.
        user: what it means, one sentence; it: what IT can do about it, one sentence.
    """

    what: str
    user: str
    it: str = ""


@dataclass(frozen=True)
class _Policy:
    hives: str
    key: str
    name: str
    on: frozenset[Any]
    user: str
    it: str


_OFFICE = r"Software\Policies\Microsoft\Office\16.0"
_RULES = (
    r"Software\Policies\Microsoft\Windows Defender\Windows Defender Exploit Guard\ASR\Rules",
    r"Software\Microsoft\Windows Defender\Windows Defender Exploit Guard\ASR\Rules",
)
_BOTH, _MACHINE = "HKCU HKLM", "HKLM"
_ONE = frozenset((1, "1"))
_BLOCKS = frozenset((1, "1", 6, "6"))  # block, or warn

_POLICIES = (
    _Policy(
        _BOTH, rf"{_OFFICE}\Common", "VBAOff", _ONE,
        "VBA is turned off for all of Office, so no add-in of this kind can run.",
        'Policy "Disable VBA for Office applications".',
    ),
    _Policy(
        _BOTH, rf"{_OFFICE}\Excel\Security", "VBAWarnings", frozenset((3, "3")),
        "Only signed macros run in Excel, and this add-in is written on your machine and not "
        "signed.",
        'Policy "VBA macro notification settings" is "Disable all except digitally signed macros": '
        "sign the file, or make the start-up folder a trusted location.",
    ),
    _Policy(
        _BOTH, rf"{_OFFICE}\Excel\Security", "VBAWarnings", frozenset((4, "4")),
        "All macros are turned off in Excel.",
        'Policy "VBA macro notification settings" is "Disable all": make the start-up folder a '
        "trusted location.",
    ),
    _Policy(
        _BOTH, rf"{_OFFICE}\Excel\Security", "RequireAddinSig", _ONE,
        "Excel loads only add-ins that a trusted publisher has signed.",
        'Policy "Require that application add-ins are signed by trusted publisher": sign the file.',
    ),
    _Policy(
        _BOTH, rf"{_OFFICE}\Excel\Security", "DisableAllAddins", _ONE,
        "Excel loads no add-in at all.",
        'Policy "Disable all application add-ins".',
    ),
    _Policy(
        _BOTH, rf"{_OFFICE}\Excel\Security\Trusted Locations", "AllLocationsDisabled", _ONE,
        "Excel trusts no folder, so the macros of its start-up folder do not run unasked.",
        'Policy "Disable all trusted locations".',
    ),
    *(
        _Policy(_MACHINE, key, "d4f940ab-401b-4efc-aadc-ad5f3c50688a", _BLOCKS,
        '"Block all Office applications from creating child processes" is on: Excel may not start '
        "Python.",
        "Exclude pythonw.exe of this environment from that attack surface reduction rule.")
        for key in _RULES
    ),
    *(
        _Policy(_MACHINE, key, "92e97fa1-2edf-4476-bdd6-9dd0b4dddc7b", _BLOCKS,
        '"Block Win32 API calls from Office macros" is on: the add-in may not load the DLL that '
        "reaches Python.",
        "Exclude hoppersheet.xlam from that attack surface reduction rule.")
        for key in _RULES
    ),
)  # fmt: skip

#: Where the add-in itself notes what happened when Excel opened it.
NOTES = r"Software\VB and VBA Program Settings\hoppersheet\Excel"
_DISABLED = r"Software\Microsoft\Office\16.0\Excel\Resiliency\DisabledItems"


def notes(registry: Registry) -> dict[str, str]:
    """What the add-in noted: ``"opened"``, ``"texts refused"``, ``"Python failed"``."""
    return {name: str(value) for name, value in registry.values("HKCU", NOTES).items()}


def _policies(registry: Registry) -> Iterator[Obstacle]:
    seen = set()
    for policy in _POLICIES:
        for hive in policy.hives.split():
            if registry.value(hive, policy.key, policy.name) in policy.on:
                if policy.user not in seen:
                    yield Obstacle("policy", policy.user, policy.it)
                seen.add(policy.user)


def _paths(folders: Folders) -> Iterator[Obstacle]:
    for what, path in (("start-up folder", folders.startup), ("Python", folders.interpreter)):
        if str(path).startswith(("\\\\", "//")):
            yield Obstacle(
                what,
                f"{path} lies on a network drive, from which Windows may refuse to start programs "
                "or to load add-ins.",
                "Keep the environment and the user's Excel start-up folder on the machine.",
            )
    if "windowsapps" in str(folders.interpreter).lower():
        yield Obstacle(
            "Python",
            "Python comes from the Microsoft Store, which keeps its files where Excel cannot "
            "reach them.",
            "Install Python from python.org, make an environment with it, and install there.",
        )


def _base_python(folders: Folders) -> Iterator[Obstacle]:
    """An environment whose Python has been removed or upgraded away does not start."""
    for folder in (folders.interpreter.parent, folders.interpreter.parent.parent):
        settings = folder / "pyvenv.cfg"
        if not settings.is_file():
            continue
        for line in settings.read_text(encoding="utf-8", errors="replace").splitlines():
            key, _, value = (part.strip() for part in line.partition("="))
            if key == "home" and not Path(value).is_dir():
                yield Obstacle(
                    "Python",
                    f"The Python that this environment was made with is gone from {value}.",
                    "Install that Python again, or make a new environment.",
                )


def _disabled(registry: Registry) -> Iterator[Obstacle]:
    """Excel puts a file on a list when it has crashed while opening it."""
    for value in registry.values("HKCU", _DISABLED).values():
        if (
            isinstance(value, bytes)
            and "hoppersheet.xlam" in value.decode("utf-16-le", "ignore").lower()
        ):
            yield Obstacle(
                "Excel",
                "Excel has put the add-in on its list of disabled items: File, Options, Add-ins, "
                "Manage: Disabled Items, Go, Enable.",
            )
            return


def _dll(folders: Folders) -> Iterator[Obstacle]:
    if (
        folders.dll is not None
        and not folders.dll.with_name(folders.dll_name.replace("64", "32", 1)).is_file()
    ):
        yield Obstacle(
            "DLL",
            "The DLL for 32-bit Excel is missing; 64-bit Excel does not need it.",
        )


def obstacles(folders: Folders, registry: Registry) -> list[Obstacle]:
    """Everything that is known to stand in the way, worst first."""
    return [
        *_policies(registry),
        *_paths(folders),
        *_base_python(folders),
        *_disabled(registry),
        *_dll(folders),
    ]
