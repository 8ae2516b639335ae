1;
% Finite elements for a bearer on supports, one way or both: eight cubic beam
% elements a span, an element more where a point load stands. Which supports
% carry is found by trying every set of them; nothing is shared with the program
% that this checks but the theory of the beam.

% rest(L, EI, q, loads, raise, k, joins, twoway) prints, a line for each support,
% reaction, moment over it and height, in kN, kN·m and mm. loads has rows of
% span, place and load; k is kN/mm with 0 for rigid; joins are supports.
function rest(L, EI, q, loads, raise, k, joins, twoway)
  n = numel(L);
  % Each element goes from one node to the next. A node has a degree of freedom
  % for its height and one for its turn, at a join one for the turn on either side.
  from = zeros(0, 4); len = ei = load = last = points = [];
  dof = 2; at = 1; turn = 2; support = 1;
  for s = 1:n
    cuts = unique([linspace(0, L(s), 9), reshape(loads(loads(:, 1) == s, 2), 1, [])]);
    for c = 2:numel(cuts)
      next = dof + 1; nextturn = dof + 2; dof += 2;
      from(end + 1, :) = [at, turn, next, nextturn];
      len(end + 1) = cuts(c) - cuts(c - 1); ei(end + 1) = EI(s); load(end + 1) = q(s);
      p = loads(loads(:, 1) == s & loads(:, 2) == cuts(c), 3);
      points(end + 1, :) = [next, sum(p)];
      if c == 2
        p = loads(loads(:, 1) == s & loads(:, 2) == 0, 3);
        points(end + 1, :) = [at, sum(p)];
      end
      at = next; turn = nextturn;
    end
    support(s + 1) = at;
    last(s) = numel(len);
    if any(joins == s + 1)
      dof += 1; turn = dof;
    end
  end
  K = zeros(dof); F = zeros(dof, 1);
  for e = 1:numel(len)
    l = len(e); d = from(e, :);
    K(d, d) += ei(e) / l^3 * [12, 6*l, -12, 6*l; 6*l, 4*l^2, -6*l, 2*l^2; -12, -6*l, 12, -6*l; 6*l, 2*l^2, -6*l, 4*l^2];
    F(d) -= load(e) * l / 2 * [1; l / 6; 1; -l / 6];
  end
  for p = 1:rows(points)
    F(points(p, 1)) -= points(p, 2);
  end
  raise = raise(:) / 1000; k = k(:) * 1000; support = support(:);
  best = Inf;
  sets = 2^(n + 1) - 1; first = 1;
  if twoway, first = sets; end
  for set = first:sets
    on = logical(bitget(set, 1:n + 1))(:);
    [r, h, u, ok] = held(K, F, support, raise, k, on);
    if !ok, continue; end
    % What a support pulls, and how far the bearer lies in it, in its own flexure.
    worst = max([0; -r(on) / (sum(abs(F)) + eps); (raise(!on) - h(!on)) / 0.1]);
    if twoway, worst = 0; end
    if worst < best
      best = worst; keep = {r, h, u};
    end
  end
  if best > 1e-7, error("no set of supports carries it: %g", best); end
  [r, h, u] = keep{:};
  m = zeros(n + 1, 1);
  for s = 2:n % at the right end of the last element of a span
    if any(joins == s), continue; end
    e = last(s - 1); l = len(e); d = from(e, :);
    B = [6 / l^2, 2 / l, -6 / l^2, 4 / l];
    m(s) = ei(e) * (B * u(d)) - load(e) * l^2 / 12;
  end
  printf("%.17g %.17g %.17g\n", [r, m, 1000 * h]');
endfunction

% held solves with a set of the supports holding both ways.
function [r, h, u, ok] = held(K, F, support, raise, k, on)
  rigid = support(on & k == 0); free = setdiff(1:rows(K), rigid);
  u = zeros(rows(K), 1); u(rigid) = raise(on & k == 0);
  S = K; G = F;
  for i = find(on & k > 0)'
    S(support(i), support(i)) += k(i); G(support(i)) += k(i) * raise(i);
  end
  r = h = []; A = S(free, free);
  d = 1 ./ sqrt(diag(A)); % scaled, so that units do not look like singularity
  A = A .* (d * d');
  [R, bad] = chol((A + A') / 2);
  ok = bad == 0 && rcond(A) > 1e-13;
  if !ok, return; end
  u(free) = d .* (A \ (d .* (G(free) - S(free, rigid) * u(rigid))));
  h = u(support);
  r = zeros(numel(support), 1);
  f = K * u - F;
  r(on) = f(support(on));
endfunction
