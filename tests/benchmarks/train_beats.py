"""Trains the network of `audio/measure/beat_network.py` on the music of `beat_music.py`.

    python tests/benchmarks/train_beats.py FOLDER audio/measure/beat_weights.npz [STEPS]

FOLDER holds what beat_music.py wrote; needs PyTorch, which the project doesn't, and a graphics card. One piece of
twenty is held back and its loss printed. Shown to the network: 24 s of a piece, stretched in time, its levels spread,
coloured, shifted by bands and put over a floor of noise. Every 1000 steps the state is written beside the weights, as
WEIGHTS.state: a run that was ended goes on from there.
"""

import sys
from pathlib import Path

import numpy as np
import torch
from torch import nn
from torch.nn import functional

FRAMES_PER_S, FRAMES, CHANNELS, LAYERS, TEMPOS = 22050 / 256, 2064, 64, 9, 64
BATCH, RATE, DECAY = 64, 3e-3, 1e-2
NEAR = torch.tensor([1.0, 0.6, 0.25])  # how much a frame counts that is so far from a beat
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


class Network(nn.Module):
    """Two frames in, two frames out; residual layers whose reach doubles; a tempo from the mean over time."""

    def __init__(self) -> None:
        super().__init__()
        self.first, self.enter = nn.Conv1d(160, CHANNELS, 1), nn.Conv1d(CHANNELS, CHANNELS, 3, padding=1)
        self.layers = nn.ModuleList(
            nn.Conv1d(CHANNELS, CHANNELS, 5, padding=2 * 2**n, dilation=2**n) for n in range(LAYERS)
        )
        self.mixes = nn.ModuleList(nn.Conv1d(CHANNELS, CHANNELS, 1) for _ in range(LAYERS))
        self.out, self.drop = nn.Conv1d(2 * CHANNELS, 4, 1), nn.Dropout(0.1)
        self.tempo_first, self.tempo_second = nn.Linear(2 * CHANNELS, 32), nn.Linear(32, TEMPOS)

    def forward(self, seen: torch.Tensor) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
        state = functional.elu(self.enter(functional.elu(self.first(seen))))
        total = torch.zeros_like(state)
        for layer, mix in zip(self.layers, self.mixes, strict=True):
            heard = self.drop(functional.elu(layer(state)))
            state, total = state + mix(heard), total + heard
        last = torch.cat([state, total], 1)
        odds = self.out(last)
        count, _, steps = odds.shape
        frames = odds.reshape(count, 2, 2, steps).permute(0, 1, 3, 2).reshape(count, 2, 2 * steps)
        return frames[:, 0], frames[:, 1], self.tempo_second(functional.elu(self.tempo_first(last.mean(2))))


def seen(levels: torch.Tensor) -> torch.Tensor:
    """dB below the loudest band, shape (n, frames, 40), into levels and rises of two frames, (n, 160, frames / 2)."""
    levels = levels.clamp(-60, 10)
    rise = functional.pad((levels[:, 2:] - levels[:, :-2]).clamp(min=0), (0, 0, 2, 0))
    both = torch.cat([levels / 30 + 1, rise / 8], 2)
    count, frames, width = both.shape
    return both.reshape(count, frames // 2, 2 * width).transpose(1, 2)


class Pieces:
    """Everything in a folder, and batches of it."""

    def __init__(self, folder: Path) -> None:
        levels, times = [], []
        for path in sorted(folder.glob("*.npz")):
            with np.load(path) as file:
                levels.append(file["levels"])
                times.append((file["beats"], file["bars"]))
        self.count = len(levels)
        self.lengths = torch.tensor([len(each) for each in levels], device=DEVICE)
        self.starts = torch.cumsum(self.lengths, 0) - self.lengths
        self.levels = torch.from_numpy(np.concatenate(levels)).to(DEVICE)
        self.beats, self.bars = (padded([pair[which] for pair in times]) for which in (0, 1))
        bpm = [60 / np.median(np.diff(beats)) if len(beats) > 1 else np.nan for beats, _ in times]
        self.bpm = torch.tensor(bpm, dtype=torch.float32, device=DEVICE)

    def batch(self, chosen: torch.Tensor, changed: bool) -> tuple[torch.Tensor, ...]:
        count = len(chosen)
        slower, start = torch.ones(count, device=DEVICE), torch.zeros(count, device=DEVICE)
        if changed:
            slower = torch.exp(0.13 * torch.randn(count, device=DEVICE)).clamp(0.74, 1.35)
            spare = (self.lengths[chosen] - FRAMES / slower).clamp(min=0)
            start = spare * torch.rand(count, device=DEVICE)
        places = torch.arange(FRAMES, device=DEVICE) / slower[:, None] + start[:, None]
        levels = self.between(chosen, places) / 2.5 - 80
        targets = (self.target(times[chosen], start, slower) for times in (self.beats, self.bars))
        place = torch.log2(self.bpm[chosen] / slower / 40) / np.log2(240 / 40) * (TEMPOS - 1)
        tempo = torch.where(place.isnan(), -100, place.nan_to_num().round().clamp(0, TEMPOS - 1)).long()
        return seen(disguised(levels) if changed else levels), *targets, tempo

    def between(self, chosen: torch.Tensor, places: torch.Tensor) -> torch.Tensor:
        last = (self.lengths[chosen] - 1)[:, None]
        low = torch.minimum(places.floor().long(), last)
        part = (places - low).clamp(0, 1)[:, :, None]
        first = self.starts[chosen][:, None]
        one, two = (self.levels[first + at].float() for at in (low, torch.minimum(low + 1, last)))
        return (one * (1 - part) + two * part) * (places <= last)[:, :, None]

    def target(self, times: torch.Tensor, start: torch.Tensor, slower: torch.Tensor) -> torch.Tensor:
        frames = ((times * FRAMES_PER_S - start[:, None]) * slower[:, None]).round()
        wanted = torch.zeros(len(times), FRAMES + 8, device=DEVICE)
        for apart in (2, 1, 0):
            for side in (-apart, apart):
                at = frames + side + 4
                inside = (at >= 2) & (at < FRAMES + 6)
                at = torch.where(inside, at, torch.zeros_like(at)).long()
                wanted.scatter_reduce_(1, at, NEAR[apart].to(DEVICE) * inside, "amax")
        return wanted[:, 4:-4]


def padded(rows: list[np.ndarray]) -> torch.Tensor:
    table = np.full((len(rows), max(map(len, rows))), -1e6, np.float32)
    for row, values in zip(table, rows, strict=True):
        row[: len(values)] = values
    return torch.from_numpy(table).to(DEVICE)


def disguised(levels: torch.Tensor) -> torch.Tensor:
    """The same music as another master, through another room, with noise."""
    count = len(levels)

    def even(*shape: int) -> torch.Tensor:
        return torch.rand(*shape, device=DEVICE)

    def normal(*shape: int) -> torch.Tensor:
        return torch.randn(*shape, device=DEVICE)

    levels = levels * (0.6 + 0.7 * even(count, 1, 1)) + 4 * normal(count, 1, 1)
    levels = levels + functional.interpolate(5 * normal(count, 1, 6), size=40, mode="linear", align_corners=True)
    floor = -75 + 35 * even(count, 1, 1) * (even(count, 1, 1) < 0.4)
    floor = floor + 1.5 * normal(count, FRAMES, 40) * (even(count, 1, 1) < 0.5)
    levels = torch.maximum(levels, floor) + 0.4 * normal(count, FRAMES, 40)
    return torch.roll(levels, int(torch.randint(-2, 3, ())), 2) if torch.rand(()) < 0.5 else levels


def loss(network: Network, batch: tuple[torch.Tensor, ...]) -> torch.Tensor:
    given, beats, bars, tempos = batch
    beat_odds, bar_odds, tempo_odds = network(given)
    weight = torch.tensor(3.0, device=DEVICE)
    return (
        functional.binary_cross_entropy_with_logits(beat_odds, beats, pos_weight=weight)
        + 0.5 * functional.binary_cross_entropy_with_logits(bar_odds, bars, pos_weight=2 * weight)
        + 0.1 * functional.cross_entropy(tempo_odds, tempos, label_smoothing=0.1)
    )


def trained(pieces: Pieces, steps: int, kept: Path) -> Network:
    torch.manual_seed(0)
    network = Network().to(DEVICE)
    number = torch.arange(pieces.count, device=DEVICE)
    ours, theirs = number[number % 20 != 7], number[number % 20 == 7]
    optimiser = torch.optim.AdamW(network.parameters(), lr=RATE, weight_decay=DECAY)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, RATE, total_steps=steps, pct_start=0.1)
    done = 0
    if kept.exists():
        state = torch.load(kept)
        done = state["done"]
        for part, name in ((network, "network"), (optimiser, "optimiser"), (schedule, "schedule")):
            part.load_state_dict(state[name])
    for step in range(done + 1, steps + 1):
        network.train()
        value = loss(network, pieces.batch(ours[torch.randint(len(ours), (BATCH,), device=DEVICE)], changed=True))
        optimiser.zero_grad()
        value.backward()
        nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        optimiser.step()
        schedule.step()
        if step % 1000 == 0 or step == steps:
            print(step, float(value.detach()), held_back(network, pieces, theirs), flush=True)
            names = {"network": network, "optimiser": optimiser, "schedule": schedule}
            torch.save({"done": step} | {name: part.state_dict() for name, part in names.items()}, kept)
    return network


@torch.no_grad()
def held_back(network: Network, pieces: Pieces, theirs: torch.Tensor) -> float:
    network.eval()
    parts = [float(loss(network, pieces.batch(part, changed=False))) for part in theirs.split(BATCH)]
    return float(np.mean(parts))


def written(network: Network, path: Path) -> None:
    """Half-precision arrays under the names that `beat_network` reads; a kernel is (taps * channels in, channels out)."""
    values = {name: value.detach().float().cpu().numpy() for name, value in network.state_dict().items()}

    def kernel(name: str) -> np.ndarray:
        weights = values[f"{name}.weight"]
        return weights.transpose(2, 1, 0).reshape(-1, len(weights))

    arrays = {"first/kernel": kernel("first"), "first/bias": values["first.bias"]}
    arrays |= {"enter/kernel": kernel("enter"), "enter/bias": values["enter.bias"]}
    for n in range(LAYERS):
        arrays |= {f"{n}/kernel": kernel(f"layers.{n}"), f"{n}/bias": values[f"layers.{n}.bias"]}
        arrays |= {f"{n}/mix": kernel(f"mixes.{n}"), f"{n}/mix_bias": values[f"mixes.{n}.bias"]}
    arrays |= {"out/kernel": kernel("out"), "out/bias": values["out.bias"]}
    for part in ("first", "second"):
        arrays |= {
            f"tempo/{part}": values[f"tempo_{part}.weight"].T,
            f"tempo/{part}_bias": values[f"tempo_{part}.bias"],
        }
    np.savez(path, **{name: np.ascontiguousarray(value, np.float16) for name, value in arrays.items()})


if __name__ == "__main__":
    steps_wanted = int(sys.argv[3]) if len(sys.argv) > 3 else 25_000
    target_file = Path(sys.argv[2])
    written(trained(Pieces(Path(sys.argv[1])), steps_wanted, target_file.with_suffix(".state")), target_file)
